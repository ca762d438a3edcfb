"""The numbers that travel with the sheet say the same as the core, for instruments with errors of all kinds."""

import math
import random
from datetime import date

import pytest

from checks.convert import to_alignment, to_instruments, to_specification
from checks.measurement.acceptance import acceptance, rejection
from checks.measurement.adjustment import advise
from checks.measurement.conformity import judge, probabilities
from checks.measurement.correction import channels
from checks.measurement.evidence import capture_band
from checks.measurement.specification import State
from checks.selectors.grounds import Grounds, grounds_for
from checks.tablet.marks import ANGLE_MAX_DEG, set_marks
from tests.bay import Bay, make_bay
from tests.factories import CertificateFactory, CertificatePointFactory, MultimeterFactory, TransducerFactory

pytestmark = pytest.mark.django_db
ON = date(2025, 3, 4)


def erring(instrument, top: float, error: float):  # type: ignore[no-untyped-def]
    """A certificate whose error bends: none at zero, `error` at a half, half of it at the top."""
    certificate = CertificateFactory(instrument=instrument)
    for share, part in ((0.0, 0.1), (0.25, 0.6), (0.5, 1.0), (0.75, 0.8), (1.0, 0.5)):
        CertificatePointFactory(
            certificate=certificate, indication=share * top, error=part * error, expanded_uncertainty=0.3 * error
        )
    return instrument


@pytest.fixture
def bay() -> Bay:
    return make_bay()


@pytest.fixture(params=["gauge", "transducer", "falling transducer"])
def tools(request, bay: Bay):  # type: ignore[no-untyped-def]
    """A dial and what tells the pressure; one transducer lowers its output as pressure rises."""
    bay.dial.certificates.all().delete()
    dial = erring(bay.dial, 12.7, 0.02)
    if request.param == "gauge":
        bay.gauge.certificates.all().delete()
        return dial, erring(bay.gauge, 420.0, 2.5), None
    gain = 0.1 if request.param == "transducer" else -0.1
    offset = 5.0 if gain > 0 else 50.0
    transducer = erring(TransducerFactory(depot=bay.depot, sensitivity=gain, offset=offset), 420.0, 1.5)
    return dial, transducer, erring(MultimeterFactory(depot=bay.depot), 60.0, 0.03)


def grounds_of(bay: Bay) -> Grounds:
    return grounds_for(bay.specification)


def test_what_an_instrument_shows_at_a_mark_is_the_marks_pressure(bay: Bay, tools) -> None:  # type: ignore[no-untyped-def]
    core = to_specification(bay.specification)
    marks = set_marks(core=core, grounds=grounds_of(bay), tools=tools, on=ON)
    ready = channels(
        to_instruments(dial=tools[0], stimulus=tools[1], meter=tools[2], alignment=to_alignment(
            geometry="flat_face", angle_deg=None, angle_max_deg=ANGLE_MAX_DEG), on=ON)
    )  # fmt: skip
    vented = ready.offset
    low, high = capture_band(core)
    wanted = {"setting": core.setting, "low": low, "high": high, "maximum": core.stimulus_max}
    zero = ready.stimulus_indication(vented)
    for name, pressure in wanted.items():
        shown = vented + marks[name]
        assert ready.stimulus_value(ready.stimulus_indication(shown), zero) == pytest.approx(pressure, abs=2e-3), name
    assert marks["direction"] == (1 if ready.sensitivity > 0 else -1)


@pytest.mark.parametrize("geometry", ["flat_face", "rod_point"])
def test_a_dial_indication_gets_the_state_that_the_core_gives_it(bay: Bay, tools, geometry: str) -> None:  # type: ignore[no-untyped-def]
    """2,000 seeded readings at the setting, both zeros returned; within a micrometre of a limit they may part."""
    core, grounds = to_specification(bay.specification), grounds_of(bay)
    limits = set_marks(core=core, grounds=grounds, tools=tools, on=ON)["limits"][geometry]
    alignment = to_alignment(geometry=geometry, angle_deg=None, angle_max_deg=ANGLE_MAX_DEG)
    instruments = to_instruments(dial=tools[0], stimulus=tools[1], meter=tools[2], alignment=alignment, on=ON)
    ready = channels(instruments)
    accepted = acceptance(core, instruments, grounds.policy, grounds.slope, on=ON)
    below, above = rejection(core, instruments, grounds.policy, grounds.slope)
    assert accepted.low_mm is not None
    assert accepted.high_mm is not None
    random_ = random.Random(5)
    told = set()
    for _ in range(2_000):
        shown = random_.uniform(0.3 * core.lower_mm, 1.5 * core.upper_mm)
        travel = ready.travel_value(shown, 0.0)
        if min(abs(travel - end) for end in (accepted.low_mm, accepted.high_mm, below, above)) < 1e-3:
            continue
        expected = (
            "inside" if accepted.low_mm <= travel <= accepted.high_mm
            else "outside_low" if travel <= below else "outside_high" if travel >= above else "undecided"
        )  # fmt: skip
        assert state_of(shown, limits) == expected
        told.add(expected)
    assert told == {"inside", "outside_low", "outside_high", "undecided"}


def state_of(shown: float, limits: dict[str, float]) -> str:
    """The tablet's comparison, as its module makes it; the browser test holds the module itself to the server."""
    if limits["inside_from"] <= shown <= limits["inside_to"]:
        return "inside"
    if shown <= limits["outside_below"]:
        return "outside_low"
    return "outside_high" if shown >= limits["outside_above"] else "undecided"


def test_at_the_limits_of_rejection_outside_is_just_proven(bay: Bay, tools) -> None:  # type: ignore[no-untyped-def]
    """JCGM 106:2012, 8.2 and 8.3: the probability of lying outside equals the level there, 0.95 by the policy."""
    core, grounds = to_specification(bay.specification), grounds_of(bay)
    alignment = to_alignment(geometry="flat_face", angle_deg=None, angle_max_deg=ANGLE_MAX_DEG)
    instruments = to_instruments(dial=tools[0], stimulus=tools[1], meter=tools[2], alignment=alignment, on=ON)
    below, above = rejection(core, instruments, grounds.policy, grounds.slope)
    level = grounds.policy.inside_level
    u_low = (core.lower_mm - below) / 1.6448536269514722  # the normal quantile of 0.95, ISO 2854 and any table
    u_high = (above - core.upper_mm) / 1.6448536269514722
    assert probabilities(below, u_low, core.lower_mm, core.upper_mm)[1] == pytest.approx(level, abs=1e-6)
    assert probabilities(above, u_high, core.lower_mm, core.upper_mm)[2] == pytest.approx(level, abs=1e-6)
    accepted = acceptance(core, instruments, grounds.policy, grounds.slope, on=ON)
    assert u_high == pytest.approx(accepted.expanded_uncertainty_mm / 2, rel=0.25)
    assert judge(*probabilities(below - 1e-6, u_low, core.lower_mm, core.upper_mm), level) is State.OUTSIDE_LOW


def test_half_turns_on_the_sheet_are_those_of_the_advice(bay: Bay, tools) -> None:  # type: ignore[no-untyped-def]
    core, grounds = to_specification(bay.specification), grounds_of(bay)
    turns = set_marks(core=core, grounds=grounds, tools=tools, on=ON)["turns"]
    assert turns
    for low, high, n in turns:
        for travel in (low + 1e-6, (low + high) / 2, high - 1e-6):
            if core.lower_mm < travel < core.upper_mm or travel < 0:
                continue
            state = State.OUTSIDE_LOW if travel < core.lower_mm else State.OUTSIDE_HIGH
            advice = advise(
                state=state, travel_mm=travel, standard_uncertainty_mm=0.01, coverage_factor=2.0, specification=core
            )
            assert advice.half_turns == n
    assert not math.isnan(turns[0][0])
