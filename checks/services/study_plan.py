"""Planning a study: its parts, technicians, instruments and the random order of its readings."""

import secrets
from collections.abc import Iterable
from datetime import timedelta
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction
from django.utils import timezone

from checks.convert import certificate_on
from checks.measurement.study_plan import order, size
from checks.models import Instrument, SpecificationRevision, Study, StudyPart, StudyReading
from checks.selectors.instrument import instruments_of
from checks.selectors.specification import revisions_in_force
from checks.selectors.study import technicians_of
from checks.services.entry import LENGTH, Doubts, Entry, Reader, keep
from checks.services.faults import Faults
from checks.services.parts import require_kinds
from fleet.models import Depot, Membership, Turbocharger, TurbochargerModel, User
from fleet.problems import FleetError
from fleet.selectors import scope

PARTS_MOST, TECHNICIANS_MOST, TRIALS_MOST = 40, 10, 10
AHEAD = timedelta(days=366)
SEEDS = 10**9
# Below this many readings' worth a study tells little: see the table of sizes. Common practice, no source.
DOF_FEW = 10
PLACES = {"study_name_once": "name", "study_name_given": "name"}
FIELDS = {"dial": "dial", "stimulus": "stimulus_instrument", "meter": "meter"}


@transaction.atomic
def plan_study(*, author: User, depot: Depot, entry: Entry, key: UUID | None = None) -> Study:
    """Plan a study at `depot` and put its readings in a random order. Asked twice with one ``key``, it is one.

    ``entry``: name, specification, turbochargers (serial numbers, one a line), bench_units (names, one a line),
    technicians (list of keys of people), trials, dial, stimulus_instrument, meter, length_unit, planned_for, note,
    and ``seed`` where an order is to be made again. Raises FleetErrors with every wrong field, or Doubts.
    """
    scope.require(author, Membership.Role.MANAGER, depot)
    if key and (known := Study.objects.filter(key=key, depot=depot).first()):
        return known
    reader = Reader(entry)
    row = _document(reader, author, depot)
    row.key = key or uuid4()
    parts = _parts(reader, depot, row)
    technicians = _technicians(reader, depot)
    _instruments(reader, author, row)
    reader.refuse_faults()
    keep(row, author=author, places=PLACES)
    StudyPart.objects.bulk_create(parts)
    _order(row, parts, technicians)
    if not entry.get("confirmed") and (doubts := _doubts(row, parts, technicians)):
        raise Doubts(doubts)
    return row


def _document(reader: Reader, author: User, depot: Depot) -> Study:
    today = timezone.localdate()
    held = revisions_in_force(TurbochargerModel.objects.all(), today)
    revisions = {str(row.pk): row for row in held.values()}
    chosen = reader.choice("specification", "The specification", {pk: str(row) for pk, row in revisions.items()})
    day = reader.day("planned_for", "The day", latest=today + AHEAD)
    trials = reader.whole("trials", "The number of trials", low=2, high=TRIALS_MOST)
    values: dict[str, Any] = {
        "name": reader.text("name", "The name", longest=80, required=True),
        "length_unit": reader.choice("length_unit", "The unit of travel", dict.fromkeys(LENGTH, "")) or LENGTH[0],
        "note": reader.text("note", "The note", longest=2000),
        "planned_for": day or today,
        "trials": trials or 2,
        "seed": _seed(reader),
    }
    return Study(depot=depot, planned_by=author, specification=revisions.get(chosen), **values)


def _seed(reader: Reader) -> int:
    if str(reader.entry.get("seed") or "").strip():
        return reader.whole("seed", "The seed", low=0, high=999_999_999) or 0
    return secrets.randbelow(SEEDS)


def _lines(reader: Reader, name: str) -> list[str]:
    return [line.strip() for line in str(reader.entry.get(name) or "").splitlines() if line.strip()]


def _parts(reader: Reader, depot: Depot, study: Study) -> list[StudyPart]:
    serials, benches = _lines(reader, "turbochargers"), _lines(reader, "bench_units")
    specification: SpecificationRevision | None = study.specification if study.specification_id else None
    found = {row.serial.casefold(): row for row in _units(depot, serials)}
    parts = []
    for text in serials:
        unit = found.get(text.casefold())
        if unit is None:
            reader.fault("turbochargers", "unknown_serial", f"{depot} has no turbocharger with the serial '{text}'.")
        elif specification and unit.model_id != specification.turbocharger_model_id:
            sentence = f"{unit} is a {unit.model}; every part must be a {specification.turbocharger_model}."
            reader.fault("turbochargers", "other_model", sentence)
        else:
            parts.append(StudyPart(study=study, name=unit.serial, turbocharger=unit))
    for text in benches:
        if len(text) > 60:
            reader.fault("bench_units", "too_long", f"The name '{text[:20]}...' has more than 60 characters.")
        parts.append(StudyPart(study=study, name=text[:60]))
    _count_parts(reader, [*serials, *benches])
    for number, part in enumerate(parts, start=1):
        part.number = number
    return parts


def _units(depot: Depot, serials: Iterable[str]) -> Iterable[Turbocharger]:
    """Units of the depot by serial number, whatever the case; one query."""
    wanted = {text.casefold() for text in serials}
    rows = Turbocharger.objects.filter(depot=depot, scrapped_on__isnull=True).select_related("model")
    return [row for row in rows if row.serial.casefold() in wanted] if wanted else []


def _count_parts(reader: Reader, names: list[str]) -> None:
    twice = sorted({name for name in names if [one.casefold() for one in names].count(name.casefold()) > 1})
    if twice:
        reader.fault("bench_units", "part_twice", f"{twice[0]} is named twice. Name each part once.")
    if not 2 <= len(names) <= PARTS_MOST:
        count = f"{len(names)} part{'' if len(names) == 1 else 's'}"
        reader.fault("bench_units", "parts_count", f"The study has {count}. Name 2 to {PARTS_MOST}, one a line.")


def _technicians(reader: Reader, depot: Depot) -> list[User]:
    given = reader.entry.get("technicians") or []
    wanted = {str(one) for one in (given if isinstance(given, list | tuple) else [given])}
    mine = {str(row.pk): row for row in technicians_of(depot)}
    people = [row for pk, row in mine.items() if pk in wanted]
    if wanted - set(mine):
        reader.fault("technicians", "not_of_depot", f"Choose technicians of {depot}.")
    elif not 2 <= len(people) <= TECHNICIANS_MOST:
        count = f"{len(people)} chosen. "
        reader.fault("technicians", "technicians_count", f"{count}A study needs 2 to {TECHNICIANS_MOST} technicians.")
    return people


def _instruments(reader: Reader, author: User, study: Study) -> None:
    mine = {str(row.pk): row for row in instruments_of(author).filter(depot=study.depot, withdrawn_on__isnull=True)}
    chosen: dict[str, Instrument | None] = {}
    for role, name in FIELDS.items():
        text = str(reader.entry.get(name) or "").strip()
        chosen[role] = mine.get(text)
        if chosen[role] is None and (text or role != "meter"):
            reader.fault(name, "no_such_instrument", f"Choose an instrument of {study.depot}.")
    if study.specification_id:
        faults = Faults()
        require_kinds(chosen, study.specification.turbocharger_model.stimulus, faults)
        for fault in faults.errors:
            reader.fault(FIELDS[fault.field.removeprefix("instruments.")], fault.code, fault.sentence)
    for role, name in FIELDS.items():
        setattr(study, name, chosen[role])


def _order(study: Study, parts: list[StudyPart], technicians: list[User]) -> None:
    turns = order(len(parts), len(technicians), study.trials, study.seed)
    StudyReading.objects.bulk_create(
        StudyReading(
            study=study,
            place=place,
            part=parts[turn.part],
            technician=technicians[turn.technician],
            trial=turn.trial + 1,
        )
        for place, turn in enumerate(turns, start=1)
    )


def _doubts(study: Study, parts: list[StudyPart], technicians: list[User]) -> list[FleetError]:
    doubts = []
    told = size(len(parts), len(technicians), study.trials)
    if told.dof < DOF_FEW:
        sentence = (
            f"{told.readings} readings leave {told.dof} degrees of freedom: the repeatability found is known to "
            f"about {100 * told.doubt:.0f} % only."
        )
        doubts.append(FleetError("study_small", "trials", sentence))
    for name in FIELDS.values():
        tool: Instrument | None = getattr(study, name)
        counts = certificate_on(tool.certificates.all(), study.planned_for) if tool else None
        if tool and (counts is None or counts.due_on < study.planned_for):
            sentence = f"{tool} has no calibration certificate that covers {study.planned_for:%-d %b %Y}."
            doubts.append(FleetError("out_of_calibration", name, sentence))
    return doubts
