"""What the simulated technicians send is what the core would expect of them."""

from collections import Counter
from collections.abc import Callable

import numpy as np
import pytest

from checks.measurement.result import Assessment
from checks.measurement.specification import State
from fleet.management.demo.events import History, MadeCheck
from fleet.management.demo.instruments import as_text, rounded
from fleet.management.demo.strokes import Flaw


@pytest.mark.parametrize("flaw", list(Flaw))
def test_each_flaw_is_made_and_found_under_its_own_name(flaw: Flaw, history: History, verdicts: dict[str, Assessment]):
    made = [check for check in history.checks if check.flaw is flaw]
    assert made
    for check in made:
        verdict = verdicts[str(check.key)]
        assert verdict.state is State.VOID
        assert flaw.value in {void.code for void in verdict.voids}


def test_a_careful_stroke_is_never_void(history: History, verdicts: dict[str, Assessment]):
    voids = {
        check.serial: verdicts[str(check.key)].voids
        for check in history.checks
        if not check.flaw and verdicts[str(check.key)].state is State.VOID
    }
    assert voids == {}


def test_every_state_of_a_reading_occurs(verdicts: dict[str, Assessment]):
    assert set(Counter(verdict.state for verdict in verdicts.values())) == set(State)


def test_the_stated_uncertainty_covers_the_truth_where_the_dial_stands_straight(
    history: History, verdicts: dict[str, Assessment]
):
    """Simulation with known truth: about 95 % is asked; the unit's own unrest of 0.012 mm is outside the budget."""
    sticking = history.fleet.planted["sticking"]
    covered = [
        abs(verdict.travel_mm - check.true_mm) <= verdict.expanded_uncertainty_mm
        for check in history.checks
        if straight(check) and check.serial != sticking
        for verdict in [verdicts[str(check.key)]]
    ]
    assert len(covered) > 300
    assert 0.88 <= np.mean(covered) <= 0.99


def straight(check: MadeCheck) -> bool:
    knock = check.kit.stimulus.knock
    knocked = knock is not None and knock.day <= check.day < knock.found_day
    return check.truck.depot != "BRAE" and not knocked and not check.flaw


def test_readings_are_whole_steps_of_their_instruments(history: History):
    for check in history.checks[::7]:
        for reading in check.as_found:
            step = check.kit.stimulus.step
            assert as_text(float(reading.stimulus), step) == reading.stimulus
            if reading.travel is not None:
                assert rounded(float(reading.travel), check.kit.dial.step) == float(reading.travel)


def test_a_gauge_proves_less_than_a_transducer(history: History, verdicts: dict[str, Assessment]):
    def median(kind: str) -> float:
        found = [
            verdicts[str(check.key)].expanded_uncertainty_mm
            for check in history.checks
            if check.kit.stimulus.kind == kind and check.model.code == "OP6" and not check.flaw
        ]
        return float(np.median([u for u in found if u is not None]))

    assert median("gauge") > 1.5 * median("transducer")


def test_leaking_and_sticking_units_show_in_the_curve(
    history: History, verdicts: dict[str, Assessment], found_errors: Callable[..., list[float]]
):
    leaking, sticking = history.fleet.planted["leaking"], history.fleet.planted["sticking"]
    rates = {True: [], False: []}
    for check in history.checks:
        rate = verdicts[str(check.key)].features.leak_rate
        if rate is not None and not check.flaw:
            rates[check.serial == leaking].append(rate.value)
    assert min(rates[True]) > 2 * max(rates[False])
    assert np.std(found_errors(lambda c: c.serial == sticking)) > 3 * np.std(
        found_errors(lambda c: straight(c) and c.serial != sticking and c.model.code == "TP4")
    )
