"""Bringing files into the register: trial run, going ahead, and what is refused."""

from datetime import date

import pytest

from fleet.imports.formats import format_named
from fleet.imports.job import go_ahead_later
from fleet.imports.staging import go_ahead, stage, staged
from fleet.imports.trial import run_trial
from fleet.jobs.tasks import run_job
from fleet.models import Engine, Fitment, Installation, Job, Truck, Turbocharger, TurbochargerModel
from fleet.problems import FleetError
from fleet.services.truck import add_truck
from tests.factories import EngineFactory, FitmentFactory, TruckFactory
from tests.fleet.brought_in import FILES, bring_in

pytestmark = pytest.mark.django_db


TABLES = (Truck, Engine, Installation, TurbochargerModel, Turbocharger, Fitment)


def counts() -> list[int]:
    return [table.objects.count() for table in TABLES]


def trial_of(crew, name, kind="register"):
    return run_trial(user=crew.manager, kind=format_named(kind), content=(FILES / name).read_bytes())


def test_a_trial_run_says_what_each_line_would_do_and_writes_nothing(crew):
    trial = trial_of(crew, "register.csv")
    assert trial.tally == {"new": 5, "change": 0, "same": 0, "refused": 0}
    assert trial.verdicts[0].words == (
        "truck 201; engine SK-1101; engine SK-1101 in truck 201; model Tern 2; turbocharger TN-0001; "
        "turbocharger TN-0001 on engine SK-1101 from 2021-03-01"
    )
    assert counts() == [0, 0, 0, 0, 0, 0]


def test_going_ahead_writes_exactly_that(crew):
    done = bring_in(crew, "register.csv")
    assert done.applied_at
    assert counts() == [3, 3, 3, 2, 5, 5]
    old, new = Fitment.objects.filter(engine__serial="SK-1102").order_by("fitted_on")
    assert (old.removed_on, old.removed_odometer_km, old.removal_reason) == (
        date(2023, 6, 14),
        181200,
        "oil at the seal",
    )
    assert (new.removed_on, new.fitted_odometer_km, new.fitted_engine_hours) == (None, 181200, 5120.5)
    assert {fit.position for fit in Fitment.objects.filter(engine__serial="SK-2201")} == {"front", "rear"}
    truck = Truck.objects.get(unit_number="201")
    entry = truck.history.get()
    assert (entry.history_user, entry.history_change_reason) == (crew.manager, "File register.csv")


def test_the_same_file_twice_changes_nothing(crew):
    bring_in(crew, "register.csv")
    before = counts(), [table.history.count() for table in TABLES]
    again = bring_in(crew, "register.csv")
    assert again.tally == {"new": 0, "change": 0, "same": 5, "refused": 0}
    assert (counts(), [table.history.count() for table in TABLES]) == before


def test_going_ahead_twice_writes_once(crew):
    waiting = stage(user=crew.manager, kind="register", name="r.csv", content=(FILES / "register.csv").read_bytes())
    first = go_ahead(user=crew.manager, key=waiting.key)
    assert go_ahead(user=crew.manager, key=waiting.key) == first
    assert counts() == [3, 3, 3, 2, 5, 5]


def test_a_job_that_died_after_the_last_line_ends_without_writing_again(crew, monkeypatch):
    waiting = stage(user=crew.manager, kind="register", name="r.csv", content=(FILES / "register.csv").read_bytes())
    job = go_ahead_later(user=crew.manager, waiting=waiting)
    with monkeypatch.context() as dying:
        dying.setattr("fleet.imports.job.mark_applied", lambda **given: (_ for _ in ()).throw(SystemExit))
        with pytest.raises(SystemExit):
            run_job(job.pk)
    Job.objects.filter(pk=job.pk).update(state="queued", lease_token=None, lease_until=None)
    run_job(job.pk)
    job.refresh_from_db()
    assert (job.state, job.result["tally"], counts()) == ("done", waiting.tally, [3, 3, 3, 2, 5, 5])
    assert staged(crew.manager, waiting.key).applied_at


def test_semicolons_decimal_commas_miles_and_own_headings_are_understood(crew):
    bring_in(crew, "register_semicolon_comma.csv")
    fit = Fitment.objects.get(turbocharger__serial="TN-0301")
    assert fit.fitted_odometer_km == pytest.approx(61.5 * 1.609344)  # exact mile, NIST SP 811 appendix B.8
    assert (fit.fitted_engine_hours, fit.fitted_on) == (2.25, date(2022, 4, 1))


def test_one_file_per_kind_builds_the_same_register(crew):
    for kind in ("trucks", "engines", "turbochargers", "fitments"):
        done = bring_in(crew, f"{kind}.csv", kind)
        assert done.tally["refused"] == 0, [line.words for line in done.verdicts]
    assert counts() == [2, 2, 1, 1, 2, 2]
    assert Fitment.objects.get(turbocharger__serial="TN-0501").engine.serial == "SK-1501"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_files_of_several_encodings_are_read(crew, encoding):
    content = "unit_number,depot,in_service_on,description\n1,SALT,2024-01-01,café run\n".encode(encoding)
    trial = run_trial(user=crew.manager, kind=format_named("trucks"), content=content)
    assert trial.steps[0].row.description == "café run"
    assert bool(trial.notices) == (encoding == "cp1252")


def test_a_register_that_changed_since_the_trial_run_asks_again(crew):
    content = b"unit_number,depot,in_service_on\n701,SALT,2024-01-01\n"
    waiting = stage(user=crew.manager, kind="trucks", name="t.csv", content=content)
    add_truck(user=crew.manager, depot=crew.depot, unit_number="701", in_service_on=date(2023, 1, 1))
    with pytest.raises(FleetError) as caught:
        go_ahead(user=crew.manager, key=waiting.key)
    assert caught.value.code == "register_changed"
    assert staged(crew.manager, waiting.key).tally["change"] == 1
    assert go_ahead(user=crew.manager, key=waiting.key).applied_at
    assert Truck.objects.get().in_service_on == date(2024, 1, 1)


def test_a_stored_fitment_is_completed_but_not_rewritten(crew):
    fit = FitmentFactory(turbocharger__depot=crew.depot, fitted_odometer_km=100.0)
    heading = "serial,engine_serial,fitted_on,odometer,removed_on\n"
    start = f"{fit.turbocharger.serial},{fit.engine.serial},{fit.fitted_on}"
    closing = run_trial(
        user=crew.manager, kind=format_named("fitments"), content=f"{heading}{start},,2023-01-01".encode()
    )
    assert closing.tally["change"] == 1
    wrong = run_trial(user=crew.manager, kind=format_named("fitments"), content=f"{heading}{start},99,".encode())
    assert [line.code for line in wrong.verdicts] == ["recorded_otherwise"]


def test_an_engine_that_moves_by_file_takes_its_turbochargers_to_the_trucks_depot(crew):
    other = crew.stranger.memberships.get().depot
    crew.manager.memberships.create(depot=other, role="manager")
    fit = FitmentFactory(turbocharger__depot=crew.depot)
    truck = TruckFactory(depot=other)
    content = f"engine_serial,unit_number,installed_on\n{fit.engine.serial},{truck.unit_number},2023-01-01".encode()
    go_ahead(user=crew.manager, key=stage(user=crew.manager, kind="engines", name="e.csv", content=content).key)
    fit.turbocharger.refresh_from_db()
    assert fit.turbocharger.depot == Engine.objects.get().depot == other


def test_rows_of_other_depots_are_out_of_reach(crew):
    foreign = EngineFactory(depot=crew.stranger.memberships.get().depot)
    content = f"engine_serial,engine_model\n{foreign.serial},Other\n".encode()
    trial = run_trial(user=crew.manager, kind=format_named("engines"), content=content)
    assert [line.code for line in trial.verdicts] == ["other_depot"]


def test_only_managers_bring_files_in_and_see_only_their_own(crew):
    content = (FILES / "trucks.csv").read_bytes()
    with pytest.raises(FleetError, match="manager"):
        stage(user=crew.technician, kind="trucks", name="t.csv", content=content)
    waiting = stage(user=crew.manager, kind="trucks", name="t.csv", content=content)
    with pytest.raises(Exception, match="somebody else"):
        staged(crew.stranger, waiting.key)


def test_a_trial_run_takes_a_number_of_queries_that_does_not_grow(crew, django_assert_num_queries):
    line = "{0},SALT,2024-01-01,E{0},Skerry 11,T{0},Tern 2,pneumatic,2023-12-01,2024-01-01\n"
    heading = "unit_number,depot,in_service_on,engine_serial,engine_model,serial,model,actuator,received_on,fitted_on\n"
    for size in (10, 400):
        content = (heading + "".join(line.format(n) for n in range(size))).encode()
        with django_assert_num_queries(10):
            assert run_trial(user=crew.manager, kind=format_named("register"), content=content).tally["new"] == size
