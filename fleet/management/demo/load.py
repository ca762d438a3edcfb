"""The scenario into the database, through the same services by which people enter it."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

from django.apps import apps
from django.db import connection, transaction
from django.db.models import F
from django.utils import timezone

from checks.models import Assessment, Check, Instrument, SpecificationRevision
from checks.services.bay import level_depot
from checks.services.check import record_check
from checks.services.complaint_study import study_complaints
from checks.services.drift import refit
from checks.services.fuel import fit_fleet
from checks.services.life import fit_all
from checks.services.plan import all_turbochargers, replan
from checks.services.recall import judge_all
from checks.services.restoration import find_restorations
from fleet.management.demo import fuel, register, studies, tools, words
from fleet.management.demo.calendar import Calendar
from fleet.management.demo.cast import PEOPLE
from fleet.management.demo.events import History, MadeCheck
from fleet.management.demo.fleet import Fleet, specification_on
from fleet.management.demo.history import simulate
from fleet.management.demo.mark import set_mark
from fleet.management.demo.register import Rows
from fleet.management.demo.streams import SEED
from fleet.management.demo.truth import truth_of
from fleet.models import Depot, User

SIGNED_AFTER = timedelta(minutes=9)


def is_loaded() -> bool:
    """Whether the scenario is in this database."""
    return User.objects.filter(username=PEOPLE[1].username).exists() and Depot.objects.filter(code="SALT").exists()


@transaction.atomic
def load_scenario(
    *, today: date, seed: int = SEED, history: History | None = None, say: Callable[[str], object] = str
) -> History:
    """Load everything, or nothing when something fails; returns what was loaded.

    ``history`` is simulated from ``seed`` unless it is given; ``say`` is told what comes next.
    """
    history = history or simulate(seed)
    say("the register and its instruments")
    calendar, rows = Calendar(today), Rows()
    register.load_people(rows)
    tools.load_policy(rows)
    register.load_trucks(rows, history, calendar)
    register.load_fitments(rows, history, calendar)
    register.load_meters(rows, history, calendar)
    register.load_complaints(rows, history, calendar)
    specifications = tools.load_specifications(rows, calendar)
    instruments = tools.load_instruments(rows, calendar, seed)
    studies.load_round(rows, specifications, instruments, calendar, seed)
    say(f"{len(history.checks)} checks, each judged as from a browser")
    for number, made in enumerate(sorted(history.checks, key=lambda check: check.moment)):
        if number % 100 == 1:
            take_stock()
        payload = payload_of(made, rows, specifications, instruments, calendar)
        record_check(user=rows.people[made.person.username], submission=payload, plan=False)
    take_stock()
    _date_back()
    register.close_complaints(rows, history, calendar)
    register.add_notes(rows, notes_on(history.fleet), calendar)
    say("two years of trips")
    fuel.load_trips(rows, history, calendar, seed)
    fuel.load_prices(rows, calendar)
    say("drift, dates, fuel and lives")
    judge_all()
    replan(all_turbochargers())
    refit()
    fit_fleet()
    find_restorations()
    study_complaints()
    fit_all()
    for depot in Depot.objects.all():
        level_depot(depot=depot)
    set_mark(planted=truth_of(history, seed), monday=calendar.monday, loaded_at=timezone.now())
    return history


def payload_of(
    made: MadeCheck,
    rows: Rows,
    specifications: dict[tuple[str, str], SpecificationRevision],
    instruments: dict[str, Instrument],
    calendar: Calendar,
) -> dict[str, Any]:
    """The payload in which this check would have reached us from a browser."""
    model = made.model
    kit, unit = made.kit, made.person.units[2]
    kilometres = made.truck.odometer_km(made.moment)
    shown = int(kilometres if unit == "km" else kilometres / 1.609344)

    def key(instrument: Any) -> int | None:
        return instruments[instrument.label].pk if instrument else None

    def stroke(readings: Any) -> dict[str, Any] | None:
        return {"readings": [reading.as_payload() for reading in readings]} if readings else None

    return {
        "key": str(made.key),
        "turbocharger": rows.units[made.serial].pk,
        "specification": specifications[model.code, specification_on(model, made.day).revision].pk,
        "reason": made.reason,
        "complaint": rows.complaints[made.complaint].pk if made.complaint is not None else None,
        "made_at": calendar.at(made.day, made.minute).isoformat(),
        "odometer": {"text": str(shown), "unit": unit},
        "engine_hours": {"text": f"{made.truck.engine_hours(made.moment):.1f}", "unit": "h"},
        "instruments": {
            "dial": key(kit.dial), "stimulus": key(kit.stimulus), "meter": key(kit.meter),
            "regulator": key(kit.regulator),
        },
        "alignment": {"geometry": "flat_face", "angle_deg": None, "angle_max_deg": "5"},
        "cautions_read_at": calendar.at(made.day, made.minute - 15).isoformat(),
        "as_found": stroke(made.as_found),
        "half_turns": made.half_turns,
        "as_left": stroke(made.as_left),
        "note": made.note,
        "source": "browser",
    }  # fmt: skip


def take_stock() -> None:
    """Let PostgreSQL count its rows now: within one transaction it would plan for empty tables to the end."""
    if connection.vendor != "postgresql":
        return
    names = [model._meta.db_table for model in apps.get_models() if model._meta.app_label in {"fleet", "checks"}]
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE " + ", ".join(map(connection.ops.quote_name, names)))


def _date_back() -> None:
    """Verdicts and signatures bear the time of their check, not of the load."""
    Check.objects.update(recorded_at=F("made_at") + SIGNED_AFTER)
    # By primary keys: one update a check through its strokes took PostgreSQL, not yet analysed, half a minute each.
    signed = Assessment.objects.values_list("pk", "stroke__check_made__recorded_at")
    Assessment.objects.bulk_update([Assessment(pk=pk, made_at=at) for pk, at in signed], ["made_at"], batch_size=200)


def notes_on(fleet: Fleet) -> list[tuple[str, int, str]]:
    """Serial, day and words of the remarks."""
    notes = [(str(fleet.planted[name]), day, text) for name, (day, text) in words.NOTES.items()]
    first = fleet.planted["mis_set_batch"][0]
    return [*notes, (first, fleet.units[first].received_day, words.BATCH_NOTE)]
