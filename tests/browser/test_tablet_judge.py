"""The tablet's own module and the core judge the same random strokes: where both know the same, they say the same."""

import random
from datetime import date
from typing import Any

import pytest
from playwright.sync_api import Page

from checks.convert import to_alignment, to_instruments, to_specification, to_stroke
from checks.measurement.units import convert
from checks.measurement.workings import Case
from checks.selectors.grounds import grounds_for
from checks.services.assessment import measure
from checks.services.faults import Faults
from checks.services.readings import read_stroke, scale_of
from tests.bay import MADE_AT, Bay, reading
from tests.browser.guided import bay_in_inches
from tests.factories import CertificateFactory, CertificatePointFactory

pytestmark = pytest.mark.django_db(transaction=True)
JUDGE = """async ({ strokes, alignment }) => {
  const { judge } = await import('/static/checks/tablet/judge.js');
  const { briefOf } = await import('/static/checks/tablet/brief.js');
  const sheet = await (await fetch('/tablet/sheet.json')).json();
  const unit = sheet.units[0];
  const set = sheet.sets[0];
  const instruments = { dial: set.dial, stimulus: set.stimulus, meter: set.meter, regulator: null };
  return strokes.map((readings) => {
    const { turbocharger, specification } = unit;
    const draft = { turbocharger, specification, instruments, alignment, ui: {}, as_found: { readings } };
    return judge(draft, 'as_found', briefOf(draft, sheet)).state;
  });
}"""
MADE_ON = date.fromisoformat(MADE_AT[:10])
ALIGNMENT = {"geometry": "flat_face", "angle_deg": None, "angle_max_deg": "5"}


@pytest.fixture
def bay(transactional_db: None) -> Bay:
    """Instruments whose certificates know errors, so that nothing agrees by being zero."""
    bay = bay_in_inches()
    for instrument, top, error in ((bay.dial, 12.7, 0.02), (bay.gauge, 420.0, 2.5)):
        instrument.certificates.all().delete()
        certificate = CertificateFactory(instrument=instrument)
        for share, part in ((0.0, 0.1), (0.25, 0.6), (0.5, 1.0), (0.75, 0.8), (1.0, 0.5)):
            CertificatePointFactory(
                certificate=certificate, indication=share * top, error=part * error, expanded_uncertainty=0.3 * error
            )
    return bay


def start(chance: random.Random, *, mishaps: bool) -> list[dict[str, Any]]:
    """Zero, exercise and return, now and then short or off."""
    cycles = chance.choice((2, 3)) if mishaps else 3
    highest = chance.choice(("12", "35", "44")) if mishaps and chance.random() < 0.3 else "35"
    back = chance.choice(("0", "0.0005", "0.002")) if mishaps else "0"
    rows = [reading("zero", "0", "0"), *[reading("exercise", highest) for _ in range(cycles)]]
    return [*rows, inches("zero_return", "0", back)]


def inches(phase: str, psi: str, travel: str) -> dict[str, Any]:
    return reading(phase, psi, "0") | {"travel": {"text": travel, "unit": "in"}}


def verdicts(bay: Bay, strokes: list[list[dict[str, Any]]]) -> list[Any]:
    """What the core says, with what the server would hand to it."""
    grounds = grounds_for(bay.specification)
    scale = scale_of(bay.specification, bay.gauge, None)
    cases = []
    for stroke in strokes:
        faults = Faults()
        made = to_stroke(read_stroke({"readings": stroke}, "as_found", scale, faults), MADE_ON)
        faults.settle()
        set_up = to_alignment(geometry="flat_face", angle_deg=None, angle_max_deg=5.0)
        instruments = to_instruments(dial=bay.dial, stimulus=bay.gauge, meter=None, alignment=set_up, on=MADE_ON)
        cases.append(
            Case(
                stroke=made,
                specification=to_specification(bay.specification),
                instruments=instruments,
                policy=grounds.policy,
                model_slope=grounds.slope,
                adjustments=grounds.adjustments,
            )
        )
    return measure(cases)


def judged(page: Page, enter: Any, bay: Bay, strokes: list[list[dict[str, Any]]]) -> list[str]:
    enter(bay.technician, "/tablet/")
    states: list[str] = page.evaluate(JUDGE, {"strokes": strokes, "alignment": ALIGNMENT})
    return states


def test_a_reading_at_the_setting_gets_the_state_that_the_server_gives_it(bay: Bay, page: Page, enter: Any) -> None:
    """300 readings at what the gauge shows at the setting, without a rise, so that both assume the same slope."""
    chance = random.Random(11)
    at_setting = f"{31 + convert(2.49, 'kPa', 'psi'):.3f}"
    strokes = [
        [*start(chance, mishaps=False), inches("setting", at_setting, f"{chance.uniform(0.02, 0.1):.5f}")]
        for _ in range(300)
    ]
    said, found = judged(page, enter, bay, strokes), verdicts(bay, strokes)
    apart = [
        (tablet, one.state.value, one.travel_mm) for tablet, one in zip(said, found, strict=True) if tablet != one.state
    ]
    # What lies within the rounding of the gauge's reading times the slope, a few micrometres, may part.
    accepted = found[0].acceptance
    assert accepted is not None
    assert len(apart) <= 3, apart
    assert all({tablet, server} & {"undecided"} for tablet, server, _ in apart)
    assert {"inside", "outside_low", "outside_high", "undecided"} <= set(said)


def test_strokes_with_mishaps_are_void_on_the_tablet_when_they_are_void_on_the_server(
    bay: Bay, page: Page, enter: Any
) -> None:
    """400 strokes with rises: overshoots, falls, short exercise, zeros that do not return, settings not reached."""
    chance = random.Random(12)
    strokes = []
    for _ in range(400):
        rows = start(chance, mishaps=chance.random() < 0.5)
        for _ in range(chance.choice((1, 1, 2))):
            rows += approach(chance)
            rows.append(inches("vent", chance.choice(("0", "0.1")), "0"))
        strokes.append(rows[:-1])
    said, found = judged(page, enter, bay, strokes), verdicts(bay, strokes)
    void = [one.state.value == "void" for one in found]
    assert [state == "void" for state in said] == void
    assert 50 < sum(void) < 350
    # A verdict that one gives and the other contradicts would mislead; 'undecided' on either side does not.
    pairs = {(tablet, one.state.value) for tablet, one in zip(said, found, strict=True)}
    opposite = {(a, b) for a, b in pairs if a != b and "undecided" not in (a, b)}
    assert opposite == set()
    same = sum(tablet == one.state.value for tablet, one in zip(said, found, strict=True))
    assert same >= 0.9 * len(strokes)


def approach(chance: random.Random) -> list[dict[str, Any]]:
    """A rise to the setting in psi as the gauge shows it, sometimes one that went wrong."""
    at = 31 + convert(2.49, "kPa", "psi")
    steep = chance.uniform(0.004, 0.012)
    wanted = chance.uniform(0.02, 0.1)
    pressures = [at - gap for gap in (8, 5, 3, 1)]
    ending = at + chance.uniform(-0.2, 0.2)
    kind = chance.random()
    if kind < 0.15:
        pressures.append(at + chance.uniform(0.5, 3))
    elif kind < 0.25:
        pressures.insert(2, at - 9)
    elif kind < 0.35:
        ending = at - chance.uniform(0.5, 0.9)
    rows = [inches("rise", f"{p:.2f}", f"{max(0.0, wanted - steep * (at - p)):.4f}") for p in pressures]
    return [*rows, inches("setting", f"{ending:.2f}", f"{max(0.0, wanted + steep * (ending - at)):.4f}")]
