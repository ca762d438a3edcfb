"""The register as far as one file is about it: loaded in bulk, then grown line by line during the trial run."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Model, QuerySet
from django.db.models.functions import Lower

from fleet.models import (
    Complaint,
    Depot,
    Engine,
    Fitment,
    Installation,
    Membership,
    MeterReading,
    Truck,
    Turbocharger,
    TurbochargerModel,
    User,
)
from fleet.problems import FleetError
from fleet.selectors.scope import depots_of

# Values in one query: below the number of parameters that every database accepts.
CHUNK = 5_000


@dataclass(slots=True)
class Known:
    """Rows by the names people know them by, whether stored or only planned."""

    managed: dict[str, Depot] = field(default_factory=dict)
    managed_keys: set[int] = field(default_factory=set)
    trucks: dict[str, Truck] = field(default_factory=dict)
    # Unit numbers as they are written, by what they are without regard to capitals.
    written: dict[str, str] = field(default_factory=dict)
    vins: dict[str, str] = field(default_factory=dict)
    engines: dict[str, Engine] = field(default_factory=dict)
    models: dict[str, TurbochargerModel] = field(default_factory=dict)
    turbochargers: dict[str, Turbocharger] = field(default_factory=dict)
    sits_in: dict[str, list[Installation]] = field(default_factory=lambda: defaultdict(list))
    carries: dict[str, list[Installation]] = field(default_factory=lambda: defaultdict(list))
    fitted: dict[str, list[Fitment]] = field(default_factory=lambda: defaultdict(list))
    holds: dict[tuple[str, str], list[Fitment]] = field(default_factory=lambda: defaultdict(list))
    read: dict[str, list[MeterReading]] = field(default_factory=lambda: defaultdict(list))
    said: dict[str, list[Complaint]] = field(default_factory=lambda: defaultdict(list))

    def depot(self, text: str) -> Depot:
        """A depot that the importer manages, by short name or name."""
        found = self.managed.get(text.casefold())
        if found is None:
            raise FleetError("depot_unknown", "depot", f"You manage no depot called '{text[:40]}'.")
        return found

    def require_managed(self, row: Any, column: str) -> None:
        """Refuse a stored row of a depot that the importer does not manage."""
        if row.depot_id not in self.managed_keys:
            raise FleetError(
                "other_depot", column, f"{row._meta.verbose_name} '{row}' belongs to a depot that you do not manage."
            )

    def add(self, row: Model) -> None:
        """Let a row take part in what later lines are held against."""
        if isinstance(row, Truck):
            self.trucks[row.unit_number] = row
            self.written.setdefault(row.unit_number.casefold(), row.unit_number)
        elif isinstance(row, Engine):
            self.engines[row.serial] = row
        elif isinstance(row, TurbochargerModel):
            self.models[row.name.casefold()] = row
        elif isinstance(row, Turbocharger):
            self.turbochargers[row.serial] = row
        elif isinstance(row, Installation):
            self.sits_in[row.engine.serial].append(row)
            self.carries[row.truck.unit_number].append(row)
        elif isinstance(row, Fitment):
            self.fitted[row.turbocharger.serial].append(row)
            self.holds[row.engine.serial, row.position].append(row)
        elif isinstance(row, MeterReading):
            self.read[row.truck.unit_number].append(row)
        elif isinstance(row, Complaint):
            self.said[row.truck.unit_number].append(row)
        self.note_vin(row)

    def note_vin(self, row: Model) -> None:
        if isinstance(row, Truck) and row.vin:
            self.vins[row.vin] = row.unit_number


def load_known(
    user: User, *, trucks: set[str], vins: set[str], engines: set[str], serials: set[str], with_meters: bool,
    with_complaints: bool = False,
) -> Known:  # fmt: skip
    """Load what the named rows touch: a fixed number of queries for every `CHUNK` names."""
    known = Known()
    for depot in depots_of(user, role=Membership.Role.MANAGER):
        known.managed_keys.add(depot.pk)
        known.managed |= {depot.code.casefold(): depot, depot.name.casefold(): depot}
    seats = Installation.objects.select_related("engine__depot", "truck__depot")
    fitments = Fitment.objects.select_related("engine__depot", "turbocharger__depot", "turbocharger__model")
    _learn(known, Truck.objects.select_related("depot"), "unit_number", trucks)
    folded = Truck.objects.annotate(folded=Lower("unit_number"))
    for row in _found(folded, "folded", {number.lower() for number in trucks}):
        known.written.setdefault(row.unit_number.casefold(), row.unit_number)
    _learn(known, Truck.objects.select_related("depot"), "vin", vins)
    stored = [*_found(seats, "truck__unit_number", trucks), *_found(seats, "engine__serial", engines)]
    engines = engines | {row.engine.serial for row in stored}  # a line may name an engine by its truck
    fits = [*_found(fitments, "turbocharger__serial", serials), *_found(fitments, "engine__serial", engines)]
    _learn(known, Engine.objects.select_related("depot"), "serial", engines)
    _learn(known, Turbocharger.objects.select_related("depot", "model"), "serial", serials)
    if with_meters:
        _learn(known, MeterReading.objects.select_related("truck"), "truck__unit_number", trucks)
    if with_complaints:
        _learn(known, Complaint.objects.select_related("truck"), "truck__unit_number", trucks)
    for model in TurbochargerModel.objects.all():
        known.add(model)
    for row in {row.pk: row for row in stored}.values():
        row.engine, row.truck = known.engines[row.engine.serial], known.trucks.get(row.truck.unit_number, row.truck)
        known.add(row)
    for fit in {row.pk: row for row in fits}.values():
        fit.engine = known.engines.get(fit.engine.serial, fit.engine)
        fit.turbocharger = known.turbochargers.get(fit.turbocharger.serial, fit.turbocharger)
        known.add(fit)
    return known


def _learn(known: Known, rows: QuerySet[Any], name: str, values: set[str]) -> None:
    for row in _found(rows, name, values):
        known.add(row)


def _found(rows: QuerySet[Any], name: str, values: Iterable[str]) -> Iterator[Any]:
    wanted = sorted(filter(None, values))
    for start in range(0, len(wanted), CHUNK):
        yield from rows.filter(**{f"{name}__in": wanted[start : start + CHUNK]})
