"""The truth is the same every time, stands in the repository, and can be found again in the readings."""

from collections.abc import Callable
from math import cos, radians

import numpy as np

from checks.measurement.result import Assessment
from fleet.management.demo import truth
from fleet.management.demo.cast import BRAE_TILT_DEG, LAST_DAY, MODELS, PLANTED
from fleet.management.demo.events import History, MadeCheck
from fleet.management.demo.fleet import sheet_of, specification_on
from fleet.management.demo.history import simulate


def test_the_same_seed_gives_the_same_truth_and_the_same_readings(history: History):
    again = simulate()
    assert truth.truth_of(again) == truth.truth_of(history)
    assert [c.as_found for c in again.checks] == [c.as_found for c in history.checks]
    assert [c.key for c in again.checks] == [c.key for c in history.checks]


def test_another_seed_gives_other_readings(history: History):
    other = simulate(7)
    assert [c.as_found for c in other.checks] != [c.as_found for c in history.checks]


def test_the_file_in_the_repository_is_what_the_simulation_holds():
    assert truth.PATH.read_text(encoding="utf-8") == truth.as_text()


def test_the_mis_set_batch_is_found_high_at_its_first_look(history: History, verdicts: dict[str, Assessment]):
    batch = history.fleet.planted["mis_set_batch"]
    first: dict[str, MadeCheck] = {}
    for check in history.checks:
        if check.model.code == "OP6" and not check.flaw and not truth.made_with_knocked(check, "QF-G1"):
            first.setdefault(check.serial, check)
    nominal = sheet_of(MODELS[1].specifications[-1]).nominal_mm
    offsets = {s: verdicts[str(c.key)].travel_mm - nominal for s, c in first.items() if c.truck.depot != "BRAE"}
    of_batch = [offset for serial, offset in offsets.items() if serial in batch]
    others = [offset for serial, offset in offsets.items() if serial not in batch]
    spread = np.sqrt(np.var(of_batch, ddof=1) / len(of_batch) + np.var(others, ddof=1) / len(others))
    assert len(of_batch) >= 5
    # Within three standard errors of what was planted; drift until the first look is part of the spread.
    assert abs(np.mean(of_batch) - np.mean(others) - PLANTED.batch_offset_mm) < 3 * spread
    assert np.mean(of_batch) - np.mean(others) > 3 * spread


def test_brae_end_reads_high_by_the_lean_of_its_dial(history: History, verdicts: dict[str, Assessment]):
    shares = [
        verdicts[str(c.key)].travel_mm / c.true_mm - 1.0
        for c in history.checks
        if c.truck.depot == "BRAE" and not c.flaw and c.kit.stimulus.kind != "gauge"
    ]
    # The technicians state a lean of up to 5 degrees, which the core takes as its mean.
    planted = 1.0 / cos(radians(BRAE_TILT_DEG)) - 1.0
    assert np.mean(shares) == np.clip(np.mean(shares), planted - 0.01, planted + 0.01)


def test_readings_with_the_knocked_gauge_are_low_by_slope_times_error(
    history: History, found_errors: Callable[..., list[float]]
):
    knocked = found_errors(lambda c: c.model.code == "OP6" and truth.made_with_knocked(c, "QF-G1"))
    sound = found_errors(lambda c: c.model.code == "OP6" and c.truck.depot == "QUARRY" and c.day > -330)
    setting = sheet_of(MODELS[1].specifications[-1]).setting
    gauge = next(c.kit.stimulus for c in history.checks if c.kit.stimulus.knock)
    assert gauge.knock is not None
    expected = -MODELS[1].mechanism.slope(1.45) * gauge.knock.share * setting
    assert len(knocked) >= 5
    assert abs(np.mean(knocked) - expected) < 0.15 * abs(expected)
    assert abs(np.mean(sound)) < 0.03


def test_the_drifting_model_drifts_and_by_how_much(history: History):
    """Least squares on true settings between two looks without an adjustment, against the planted rate."""
    rates = {}
    for model in MODELS:
        run, moved = [], []
        last: dict[str, MadeCheck] = {}
        for check in history.checks:
            before = last.get(check.serial)
            if before and check.model is model and not before.half_turns and before.truck is check.truck:
                run.append(check.truck.odometer_km(check.moment) - before.truck.odometer_km(before.moment))
                moved.append(check.true_mm - before.true_mm)
            last[check.serial] = check
        steady = np.abs(moved) < 0.3
        rates[model.code] = 1e5 * np.dot(np.array(run)[steady], np.array(moved)[steady]) / np.sum(np.square(run))
    for model in MODELS:
        standard_error = model.drift_spread_mm / np.sqrt(12)
        assert abs(rates[model.code] - model.drift_mm) < 3 * standard_error
    assert rates["TP4"] > 3 * abs(rates["OP6"])


def test_the_jump_shows_between_two_looks(history: History):
    of_unit = [c for c in history.checks if c.serial == history.fleet.planted["jump"] and not c.flaw]
    before = max((c for c in of_unit if c.day < PLANTED.jump_day), key=lambda c: c.day)
    after = min((c for c in of_unit if c.day >= PLANTED.jump_day), key=lambda c: c.day)
    assert abs(after.true_mm - before.true_left_mm - PLANTED.jump_mm) < 0.1


def test_one_adjuster_turns_far_more_often_than_the_others(history: History):
    def share(name: str) -> float:
        return float(np.mean([bool(c.half_turns) for c in history.checks if c.person.username == name]))

    others = [share(name) for name in ("tolly", "corwin", "jessamy", "ansel", "petra")]
    assert share("brisca") > 1.5 * max(others)


def test_forgotten_units_were_not_looked_at(history: History):
    checked = {c.serial for c in history.checks}
    assert not checked & set(history.fleet.planted["never_checked"])
    for serial in history.fleet.planted["overdue"]:
        assert max(c.day for c in history.checks if c.serial == serial) < LAST_DAY - 120


def test_a_unit_that_moved_keeps_its_setting(history: History):
    moved = history.fleet.planted["moved_unit"]
    trucks = {c.truck.number for c in history.checks if c.serial == moved}
    assert len(trucks) == 2


def test_a_revision_took_over_in_the_middle():
    older, newer = specification_on(MODELS[0], -400), specification_on(MODELS[0], -10)
    assert (older.revision, newer.revision) == ("A", "B")
