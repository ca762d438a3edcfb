"""Each rule fires for its own reason, on the day and at the odometer that the policy asks for.

Expected days are counted by hand from the inputs; the rules themselves are common practice, no source.
"""

from datetime import date

import pytest

from checks.rules.recheck.after_adjustment import after_adjustment
from checks.rules.recheck.calendar_maximum import calendar_maximum
from checks.rules.recheck.decide import decide
from checks.rules.recheck.first_look import first_look
from checks.rules.recheck.instrument_recall import instrument_recall
from checks.rules.recheck.open_complaint import open_complaint
from checks.rules.recheck.outside_left import outside_left
from checks.rules.recheck.risk import risk
from checks.rules.recheck.undecided import undecided
from checks.rules.recheck.unit import Limits, Outlook, Recalled, Seen, Unit, Use, reached_at
from checks.rules.recheck.usage_maximum import usage_maximum
from checks.rules.recheck.void import void

LIMITS = Limits(
    first_look_km=80_000,
    first_look_days=365,
    calendar_max_days=365,
    usage_max_km=120_000,
    after_adjustment_days=60,
    after_adjustment_km=20_000,
    undecided_days=14,
    void_days=7,
    outside_days=3,
    complaint_days=14,
    risk_min_days=30,
)
FITTED = date(2025, 1, 1)
SLOW = Use(km_per_day=100.0, source="truck", odometer_km=10_000, on=FITTED)
FAST = Use(km_per_day=1000.0, source="truck", odometer_km=10_000, on=FITTED)


def unit(state: str | None = "inside", *, use: Use = SLOW, adjusted: bool = False, **changes) -> Unit:
    """A unit fitted at 10,000 km on 1 January 2025 and seen at 20,000 km on 1 March 2025."""
    seen = None if state is None else Seen(on=date(2025, 3, 1), state=state, adjusted=adjusted, odometer_km=20_000)
    return Unit(**({"fitted_on": FITTED, "fitted_odometer_km": 10_000, "use": use, "seen": seen} | changes))


def outlook(left: float | None, **changes) -> Outlook:
    """What drift says on 1 June 2025 of a truck that runs 100 km a day, 80 to 125 by its spread."""
    use = Use(
        km_per_day=100.0, source="truck", odometer_km=30_000, on=date(2025, 5, 22),
        slow_km_per_day=80.0, fast_km_per_day=125.0,
    )  # fmt: skip
    return Outlook(**({"as_of": date(2025, 6, 1), "level": 0.05, "left": left, "use": use} | changes))


def test_risk_asks_for_a_look_when_the_chance_reaches_its_level():
    due = risk(unit(outlook=outlook(10_000.0)), LIMITS)
    assert (due.on, due.odometer_km) == (date(2025, 9, 9), 41_000)  # 100 days on; 1,000 km since the meter was read
    assert (due.inputs["earliest"], due.inputs["latest"]) == ("2025-08-20", "2025-10-04")
    assert due.sentence == (
        "A 5 % chance of being outside is reached about 9 Sep 2025 at 41,000 km. "
        "By its rate of use: 20 Aug 2025 to 4 Oct 2025."
    )


def test_risk_does_not_ask_again_too_soon_nor_for_what_is_out_of_sight():
    soon = risk(unit(outlook=outlook(-9_000.0, from_start=True)), LIMITS)
    assert (soon.on, soon.by_date, soon.odometer_km) == (date(2025, 3, 31), date(2025, 3, 31), None)
    assert soon.sentence == (
        "The chance of being outside was 5 % or more already at the last look on 1 Mar 2025. "
        "The policy lets risk ask for a look from 31 Mar 2025 on."
    )
    assert risk(unit(outlook=outlook(None)), LIMITS) is None
    assert risk(unit(), LIMITS) is None


def test_risk_in_engine_hours_names_hours_and_no_odometer():
    use = Use(km_per_day=8.0, source="truck", odometer_km=5_000, on=date(2025, 6, 1))
    due = risk(unit(outlook=outlook(400.0, use=use, unit="h")), LIMITS)
    assert (due.on, due.odometer_km) == (date(2025, 7, 21), None)
    assert "about 21 Jul 2025 at 5,400 h." in due.sentence


def test_of_risk_and_a_maximum_the_earlier_binds_and_both_are_kept():
    decision = decide(unit(outlook=outlook(10_000.0)), LIMITS)
    assert decision.binding.rule == "risk"
    assert {due.rule for due in decision.fired} == {"risk", "calendar_maximum", "usage_maximum"}
    assert decide(unit(outlook=outlook(900_000.0)), LIMITS).binding.rule == "calendar_maximum"


def test_a_level_is_reached_between_two_points_of_the_path():
    path = [(0.0, 0.0), (100.0, 0.2), (200.0, 0.6)]
    assert reached_at(path, 0.4) == pytest.approx(150.0)
    assert (reached_at(path, 0.7), reached_at(path, 0.0)) == (None, 0.0)


def test_a_unit_never_seen_gets_a_first_look_by_date_or_usage():
    by_date = first_look(unit(None), LIMITS)
    assert (by_date.on, by_date.odometer_km) == (date(2026, 1, 1), 90_000)
    by_usage = first_look(unit(None, use=FAST), LIMITS)
    assert by_usage.on == date(2025, 3, 22)  # 80 days after 1 January
    assert first_look(unit(), LIMITS) is None


def test_a_first_look_without_an_odometer_goes_by_the_calendar():
    due = first_look(unit(None, fitted_odometer_km=None), LIMITS)
    assert (due.on, due.odometer_km, due.by_usage) == (date(2026, 1, 1), None, None)


def test_an_adjustment_is_looked_at_again_soon():
    due = after_adjustment(unit(adjusted=True), LIMITS)
    assert (due.on, due.odometer_km) == (date(2025, 4, 30), 40_000)
    assert after_adjustment(unit(adjusted=True, use=FAST), LIMITS).on == date(2025, 1, 31)
    assert after_adjustment(unit(), LIMITS) is None


@pytest.mark.parametrize(
    ("rule", "state", "on"),
    [
        (undecided, "undecided", date(2025, 3, 15)),
        (void, "void", date(2025, 3, 8)),
        (outside_left, "outside_low", date(2025, 3, 4)),
        (outside_left, "outside_high", date(2025, 3, 4)),
    ],
)
def test_a_state_that_cannot_stay_is_dealt_with_in_its_days(rule, state, on):
    due = rule(unit(state), LIMITS)
    assert (due.on, due.rule) == (on, rule.__name__)
    assert rule(unit("inside"), LIMITS) is None
    assert rule(unit(None), LIMITS) is None


def test_the_calendar_and_the_odometer_have_their_maximum():
    assert calendar_maximum(unit(), LIMITS).on == date(2026, 3, 1)
    due = usage_maximum(unit(use=FAST), LIMITS)
    assert (due.on, due.odometer_km) == (date(2025, 5, 11), 140_000)  # 130 days after 1 January
    assert calendar_maximum(unit(None), LIMITS) is None
    assert usage_maximum(unit(None), LIMITS) is None
    unread = Seen(on=date(2025, 3, 1), state="inside")
    assert usage_maximum(unit(seen=unread), LIMITS) is None


@pytest.mark.parametrize(
    ("raised", "state", "fires"),
    [
        (date(2025, 3, 2), "inside", True),
        (date(2025, 3, 1), "inside", False),
        (date(2025, 2, 1), "void", True),
        (date(2025, 2, 1), None, True),
        (None, "inside", False),
    ],
)
def test_a_complaint_stays_open_until_a_check_that_says_something(raised, state, fires):
    due = open_complaint(unit(state, complaint_raised_on=raised, complaint_kind="smoke"), LIMITS)
    assert (due is not None) is fires
    if due:
        assert (due.on - raised).days == 14
        assert "smoke" in due.sentence


def test_a_recalled_unit_is_seen_again_as_soon_as_after_a_void_check():
    due = instrument_recall(unit(recalled=Recalled(recall=4, on=date(2025, 3, 10), instrument="G-1")), LIMITS)
    assert (due.rule, due.on) == ("instrument_recall", date(2025, 3, 17))
    assert due.sentence == (
        "Judged with G-1, which came back wrong: a verdict changes with the error found. "
        "See it again within 7 days of the recall of 10 Mar 2025."
    )
    assert instrument_recall(unit(), LIMITS) is None


def test_the_earliest_binds_and_all_that_fired_are_kept():
    decision = decide(unit(adjusted=True, complaint_raised_on=date(2025, 3, 10), complaint_kind="smoke"), LIMITS)
    assert [due.rule for due in decision.fired] == [
        "open_complaint",
        "after_adjustment",
        "calendar_maximum",
        "usage_maximum",
    ]
    assert decision.due_on == date(2025, 3, 24)
    assert decision.due_odometer_km == 40_000
    assert decision.sentence.startswith("Due by 24 Mar 2025. A complaint (smoke) is open since 10 Mar 2025")


def test_of_two_rules_on_one_day_the_graver_binds():
    limits = Limits(**{name: getattr(LIMITS, name) for name in Limits.__dataclass_fields__} | {"outside_days": 365})
    assert decide(unit("outside_low"), limits).binding.rule == "outside_left"


def test_every_fired_rule_says_why_and_from_what():
    for state in (None, "inside", "undecided", "void", "outside_low"):
        for due in decide(unit(state, adjusted=True), LIMITS).fired:
            assert due.sentence.endswith(".")
            assert due.inputs
            assert due.on == min(day for day in (due.by_date, due.by_usage) if day)
