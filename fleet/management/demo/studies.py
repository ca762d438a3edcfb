"""The round of the bench units: the same ten actuators read at every depot, through the same services as by people."""

from dataclasses import dataclass
from datetime import datetime

from checks.models import Instrument as InstrumentRow
from checks.models import Publication, SpecificationRevision, Study, StudyReading
from checks.services.study import enter_reading
from checks.services.study_plan import plan_study
from checks.services.study_publication import publish_study
from fleet.management.demo.calendar import Calendar
from fleet.management.demo.cast import MODELS, PEOPLE, ModelSheet, Person
from fleet.management.demo.fleet import sheet_of, specification_on
from fleet.management.demo.instruments import told_errors
from fleet.management.demo.mechanics import Actuator
from fleet.management.demo.register import Rows
from fleet.management.demo.streams import SEED, stream
from fleet.management.demo.strokes import Bench
from fleet.management.demo.toolroom import INSTRUMENTS
from fleet.management.demo.words import ROUND_NAME, ROUND_NOTES, ROUND_PUBLISHED

MODEL_CODE = "OP6"
UNITS = tuple(f"Bench unit {letter}" for letter in "ABCDEFGHIJ")
TRIALS = 3
SPREAD_MM = 0.16
START_MINUTE, EACH_MINUTES, SIGNED_MINUTE = 420, 8, 970


@dataclass(frozen=True, slots=True)
class Stop:
    """One depot on the round. ``published``: whether its study counts since."""

    depot: str
    day: int
    dial: str
    stimulus: str
    meter: str
    unit: str
    published: bool


# What Brae End read lies apart, so nobody published it.
STOPS = (
    Stop("SALT", -70, "SM-D1", "SM-P1", "SM-M1", "thou", True),
    Stop("BRAE", -63, "BE-D1", "BE-P1", "BE-M1", "mm", False),
    Stop("QUARRY", -56, "QF-D1", "QF-P1", "QF-M1", "mm", True),
)


def true_travels(seed: int = SEED) -> dict[str, float]:
    """What the bench units are set to, mm."""
    nominal = sheet_of(_model().specifications[-1]).nominal_mm
    random = stream(seed, "round")
    return {name: nominal + SPREAD_MM * float(random.standard_normal()) for name in UNITS}


def reading(stop: Stop, part: str, person: Person, trial: int, seed: int = SEED) -> str:
    """The travel that somebody writes down: the dial at the setting, set up anew, in the dial's unit."""
    tools = {tool.label: tool for tool in INSTRUMENTS}
    stimulus, dial = tools[stop.stimulus], tools[stop.dial]
    model, sheet = _model(), sheet_of(specification_on(_model(), stop.day))
    if person.hand is None:
        raise ValueError(f"{person.username} makes no checks.")
    bench = Bench(
        sheet,
        Actuator(model.mechanism, sheet.setting, true_travels(seed)[part]),
        stimulus,
        told_errors(stimulus, seed, stop.day),
        dial,
        person.hand,
        stop.day,
        stream(seed, "round", stop.depot, part, person.username, trial),
    )
    return next(row.travel or "" for row in reversed(bench.stroke()) if row.phase == "setting")


def load_round(
    rows: Rows,
    specifications: dict[tuple[str, str], SpecificationRevision],
    instruments: dict[str, InstrumentRow],
    calendar: Calendar,
    seed: int,
) -> None:
    """Plan, read and publish the studies of every stop."""
    held = specifications[MODEL_CODE, _model().specifications[-1].revision]
    for stop in STOPS:
        study = plan_study(
            author=rows.manager, depot=rows.depots[stop.depot], entry=_plan(stop, rows, held, instruments, calendar)
        )
        people = {rows.people[one.username].pk: one for one in PEOPLE if one.username in rows.people}
        for row in study.readings.select_related("part").order_by("place"):
            text = reading(stop, row.part.name, people[row.technician_id], row.trial, seed)
            entry = {"travel": [text, stop.unit], "confirmed": True}
            enter_reading(author=rows.manager, study=study, place=row.place, entry=entry)
        if stop.published:
            signed = calendar.at(stop.day + 1, SIGNED_MINUTE)
            publication = publish_study(study=study, user=rows.manager, reason=ROUND_PUBLISHED, at=signed)
            Publication.objects.filter(pk=publication.pk).update(published_at=signed)
        _date_back(study, stop, calendar)


def _plan(
    stop: Stop, rows: Rows, held: SpecificationRevision, instruments: dict[str, InstrumentRow], calendar: Calendar
) -> dict[str, object]:
    people = [one for one in PEOPLE if one.hand and one.depots == (stop.depot,)]
    return {
        "name": ROUND_NAME, "specification": str(held.pk), "planned_for": calendar.on(stop.day).isoformat(),
        "note": ROUND_NOTES[stop.depot], "bench_units": "\n".join(UNITS), "trials": str(TRIALS),
        "technicians": [str(rows.people[one.username].pk) for one in people], "length_unit": stop.unit,
        "dial": str(instruments[stop.dial].pk), "stimulus_instrument": str(instruments[stop.stimulus].pk),
        "meter": str(instruments[stop.meter].pk), "seed": str(7000 - stop.day), "confirmed": True,
    }  # fmt: skip


def _date_back(study: Study, stop: Stop, calendar: Calendar) -> None:
    """Readings bear the time at which they were made, one after the other."""
    Study.objects.filter(pk=study.pk).update(planned_at=calendar.at(stop.day - 7, 600))
    readings = list(study.readings.all())
    for row in readings:
        row.entered_at = _moment(row.place, stop, calendar)
    StudyReading.objects.bulk_update(readings, ["entered_at"])


def _moment(place: int, stop: Stop, calendar: Calendar) -> datetime:
    return calendar.at(stop.day, START_MINUTE + EACH_MINUTES * place)


def _model() -> ModelSheet:
    return next(model for model in MODELS if model.code == MODEL_CODE)
