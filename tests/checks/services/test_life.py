"""Lives are read from the records as they are: when they begin, between which checks they end, what tells nothing."""

from datetime import date, timedelta
from math import inf

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from checks.models import Amendment, Assessment, LifeFit
from checks.models.forecast import Basis
from checks.selectors.life import AT_ONCE, NO_METER, ONCE, OUT_AT_FIRST, UNSEEN, model_lives
from checks.services.life import fit_all
from fleet.jobs.ledger import claim, finish
from fleet.jobs.registry import kind_of, kinds
from fleet.jobs.requests import enqueue
from fleet.models import Fitment, Job
from tests.drifting_fleet import FITTED, KM_PER_DAY, DriftingFleet, make_bay
from tests.factories import EngineFactory, FitmentFactory, InstallationFactory, TruckFactory
from tests.living_fleet import B10_KM, INSIDE_MM, LOW_MM, SHAPE, make_living_fleet

pytestmark = pytest.mark.django_db
OUT = {"state": "outside_low"}


@pytest.fixture
def fleet() -> DriftingFleet:
    made = DriftingFleet(make_bay())
    # Records begin a hundred days after the fittings.
    made.add_check(made.add_unit(), 100, INSIDE_MM)
    return made


def lives(fleet, unit, basis=Basis.KM):
    """(entry, left, right) of each of a unit's lives, in days of its use."""
    per_day = KM_PER_DAY if basis == Basis.KM else KM_PER_DAY / 50
    found = model_lives(fleet.bay.turbocharger.model, basis)
    rows = [row for row in found.rows if row.turbocharger == unit.pk]
    return [tuple(x if x == inf else round(x / per_day) for x in (row.entry, row.left, row.right)) for row in rows]


def left_out(fleet):
    return model_lives(fleet.bay.turbocharger.model, Basis.KM).left_out


@pytest.mark.parametrize("basis", list(Basis))
def test_a_life_ends_between_the_last_check_inside_and_the_first_outside(fleet, basis):
    unit = fleet.add_unit()
    for day, state in ((100, "inside"), (200, "inside"), (300, "outside_low"), (400, "outside_low")):
        fleet.add_check(unit, day, INSIDE_MM, state=state, hours=basis == Basis.HOURS)
    assert lives(fleet, unit, basis) == [(0, 200, 300)]


def test_a_life_goes_on_while_no_check_finds_it_outside(fleet):
    unit = fleet.add_unit()
    fleet.add_check(unit, 150, INSIDE_MM)
    assert lives(fleet, unit) == [(0, 150, inf)]


def test_found_outside_at_the_first_check_it_left_at_some_time_since_its_fitting(fleet):
    unit = fleet.add_unit()
    fleet.add_check(unit, 150, LOW_MM, **OUT)
    assert lives(fleet, unit) == [(0, 0, 150)]


@pytest.mark.parametrize("state", ["void", "undecided"])
def test_a_reading_without_a_verdict_tells_nothing(fleet, state):
    unit = fleet.add_unit()
    fleet.add_check(unit, 150, INSIDE_MM)
    fleet.add_check(unit, 250, INSIDE_MM, state=state)
    fleet.add_check(unit, 350, LOW_MM, **OUT)
    assert lives(fleet, unit) == [(0, 150, 350)]


def test_an_adjustment_begins_another_life(fleet):
    unit = fleet.add_unit()
    fleet.add_check(unit, 100, INSIDE_MM)
    fleet.add_check(unit, 200, LOW_MM, left_mm=INSIDE_MM, **OUT)
    fleet.add_check(unit, 300, INSIDE_MM)
    assert lives(fleet, unit) == [(0, 100, 200), (0, 100, inf)]
    rows = model_lives(fleet.bay.turbocharger.model, Basis.KM).rows
    assert [row.setting for row in rows if row.turbocharger == unit.pk] == ["plant", "workshop"]


def test_an_adjustment_not_left_inside_is_followed_from_the_first_check_that_finds_it_inside(fleet):
    unit = fleet.add_unit()
    check = fleet.add_check(unit, 100, LOW_MM, left_mm=LOW_MM, **OUT)
    Assessment.objects.filter(stroke__check_made=check, stroke__moment="as_left").update(state="undecided")
    fleet.add_check(unit, 200, INSIDE_MM)
    fleet.add_check(unit, 300, LOW_MM, **OUT)
    assert lives(fleet, unit) == [(0, 0, 100), (100, 100, 200)]


def test_half_turns_set_right_decide_whether_a_life_began_anew(fleet):
    unit = fleet.add_unit()
    check = fleet.add_check(unit, 100, INSIDE_MM, left_mm=INSIDE_MM)
    fleet.add_check(unit, 200, LOW_MM, **OUT)
    assert lives(fleet, unit) == [(0, 100, inf), (0, 0, 100)]
    Amendment.objects.create(
        check_made=check, field="half_turns", old_value="2", new_value="", reason="none", author=fleet.bay.manager
    )
    assert lives(fleet, unit) == [(0, 100, 200)]


def test_taking_the_unit_off_ends_what_is_known_and_on_another_engine_it_enters_late(fleet):
    unit = fleet.add_unit()
    fleet.add_check(unit, 100, INSIDE_MM)
    off = FITTED + timedelta(days=150)
    Fitment.objects.filter(turbocharger=unit).update(removed_on=off, removed_odometer_km=1000 + 150 * KM_PER_DAY)
    truck, engine = TruckFactory(depot=fleet.bay.depot), EngineFactory(depot=fleet.bay.depot)
    InstallationFactory(truck=truck, engine=engine, installed_on=date(2023, 12, 1))
    # The other engine stands at what this one would have run, so that the checks' meters fit it.
    on = off + timedelta(days=10)
    FitmentFactory(turbocharger=unit, engine=engine, fitted_on=on, fitted_odometer_km=1000 + 160 * KM_PER_DAY)
    fleet.add_check(unit, 200, INSIDE_MM)
    fleet.add_check(unit, 300, LOW_MM, **OUT)
    # Ten days off the road do not count: 150 days before, 40 and 140 after.
    assert lives(fleet, unit) == [(0, 100, inf), (190, 190, 290)]


def test_a_unit_fitted_long_before_records_begin_enters_at_its_first_check_inside(fleet):
    early = FITTED - timedelta(days=500)
    unit = fleet.add_unit(fitted_on=early, fitted_odometer_km=1000 - 500 * 1.9)
    unit.fitments.get().engine.installations.update(installed_on=early)
    fleet.add_check(unit, 150, INSIDE_MM)
    fleet.add_check(unit, 250, LOW_MM, **OUT)
    [(entry, left, right)] = lives(fleet, unit)
    assert entry == left > 0
    assert right - left == 100


def test_one_fitted_long_before_and_outside_at_the_first_check_is_left_out(fleet):
    early = FITTED - timedelta(days=500)
    unit = fleet.add_unit(fitted_on=early, fitted_odometer_km=10.0)
    unit.fitments.get().engine.installations.update(installed_on=early)
    fleet.add_check(unit, 150, LOW_MM, **OUT)
    assert lives(fleet, unit) == []
    assert left_out(fleet)[OUT_AT_FIRST] == 1


def test_what_tells_nothing_is_counted_with_its_reason(fleet):
    fleet.add_check(fleet.add_unit(meters=False, fitted_on=FITTED - timedelta(days=60)), 150, INSIDE_MM)
    at_once = fleet.add_unit()
    fleet.add_check(at_once, 0, LOW_MM, odometer_km=1000.0, **OUT)
    late = fleet.add_unit()
    late.fitments.update(fitted_on=FITTED - timedelta(days=500), fitted_odometer_km=10.0)
    late.fitments.get().engine.installations.update(installed_on=FITTED - timedelta(days=500))
    fleet.add_check(late, 150, INSIDE_MM)
    # The bay's own unit was never looked at.
    assert left_out(fleet) == {AT_ONCE: 1, ONCE: 1, UNSEEN: 1, NO_METER: 1}


def test_the_planted_life_lies_within_its_limits():
    fleet = make_living_fleet()
    fleet.add(40)
    assert fit_all() == 40
    fit = LifeFit.objects.get(turbocharger_model__isnull=False, basis=Basis.KM)
    whole = fit.groups[0]
    assert (whole["kind"], whole["lives"], whole["events"]) == ("model", 40, fit.events)
    share, _, low, high = whole["limits"][2]
    assert share == 0.1
    assert low < B10_KM < high
    assert whole["beta_limits"][0] < SHAPE < whole["beta_limits"][1]


def test_without_engine_hours_there_is_no_life_in_hours():
    fleet = make_living_fleet()
    fleet.add(2)
    fit_all()
    fit = LifeFit.objects.get(turbocharger_model__isnull=False, basis=Basis.HOURS)
    assert (fit.lives, fit.left_out[NO_METER]) == (0, 2)


def test_groups_of_one_life_are_told_apart_only_where_they_differ():
    fleet = make_living_fleet()
    fleet.add(25, origin="new")
    fleet.add(25, origin="reconditioned", eta_km=40_000.0)
    fit_all()
    fit = LifeFit.objects.get(turbocharger_model=fleet.checked.bay.turbocharger.model, basis=Basis.KM)
    [found] = [row for row in fit.comparisons if row["kind"] == "origin"]
    assert found["keys"] == ["new", "reconditioned"]
    assert found["weibull"]["p"] < 0.001
    assert found["scores"]["p"] < 0.001
    sizes = {row["key"]: row["lives"] for row in fit.groups if row["kind"] == "origin"}
    assert sizes == {"new": 25, "reconditioned": 25}


def test_models_are_set_against_each_other():
    one, other = make_living_fleet(), make_living_fleet(seed=6)
    one.add(20)
    other.add(20, eta_km=40_000.0)
    fit_all()
    [found] = LifeFit.objects.get(turbocharger_model=None, basis=Basis.KM).comparisons
    assert set(found["keys"]) == {fleet.checked.bay.turbocharger.model.pk for fleet in (one, other)}
    assert found["weibull"]["p"] < 0.001


def test_what_did_not_change_keeps_its_row_and_an_amended_verdict_changes_it(fleet):
    unit = fleet.add_unit()
    check = fleet.add_check(unit, 150, INSIDE_MM)
    fit_all()
    before = dict(LifeFit.objects.values_list("pk", "made_at").filter(turbocharger_model__isnull=False))
    fit_all()
    assert dict(LifeFit.objects.values_list("pk", "made_at").filter(turbocharger_model__isnull=False)) == before
    Assessment.objects.filter(stroke__check_made=check).update(state="outside_low")
    fit_all()
    fit = LifeFit.objects.get(turbocharger_model=unit.model, basis=Basis.KM)
    assert fit.events == 1
    assert fit.made_at > before[fit.pk]


def test_a_model_whose_checks_are_gone_keeps_no_life(fleet):
    fit_all()
    model = fleet.bay.turbocharger.model
    assert LifeFit.objects.get(turbocharger_model=model, basis=Basis.KM).lives == 1
    Assessment.objects.update(state="void")
    fit_all()
    fit = LifeFit.objects.get(turbocharger_model=model, basis=Basis.KM)
    assert (fit.lives, fit.groups, fit.rows) == (0, [], [])


def test_lives_are_read_in_as_many_queries_whatever_the_fleet(fleet):
    def cost() -> int:
        with CaptureQueriesContext(connection) as caught:
            model_lives(fleet.bay.turbocharger.model, Basis.KM)
        return len(caught)

    before = cost()
    for _ in range(4):
        fleet.add_check(fleet.add_unit(), 150, INSIDE_MM)
    assert cost() == before


def test_a_refit_asks_for_lives_once_for_a_burst(fleet):
    assert "fit-life" in kinds()
    model = fleet.bay.turbocharger.model
    for _ in range(2):
        job = enqueue(kind="refit", arguments={"model": model.pk}, key=f"model {model.pk}")
        run = claim(job_id=job.pk)
        kind_of("refit").handler(run)
        finish(run=run, result=None)
    wanted = Job.objects.get(kind="fit-life")
    Job.objects.filter(pk=wanted.pk).update(not_before=wanted.created_at)
    assert kind_of("fit-life").handler(claim(job_id=wanted.pk)) == {"lives": 1}
    assert LifeFit.objects.filter(turbocharger_model=model).count() == 2


def test_fitting_one_model_leaves_the_others(fleet):
    fit_all()
    other = make_living_fleet()
    other.add(3)
    assert LifeFit.objects.filter(turbocharger_model__isnull=False).count() == 2
    fit_all()
    assert LifeFit.objects.filter(turbocharger_model__isnull=False).count() == 4
