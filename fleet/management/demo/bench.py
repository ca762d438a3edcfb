"""A large plain fleet for benchmarks: whole rows with simulated strokes and true verdicts, written in bulk.

Strokes are drawn from a library of a few hundred per model, judged once; every check keeps its own readings.
"""

from bisect import bisect_left
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction
from django.utils import timezone

from checks.convert import result_columns, to_alignment, to_instruments, to_policy, to_specification, to_stroke
from checks.measurement.assess import assess_many
from checks.measurement.units import convert
from checks.measurement.workings import Case
from checks.models import Assessment, Check, Instrument, Reading, SpecificationRevision, Stroke
from checks.selectors.policy import current_policy
from checks.services.drift import refit
from checks.services.plan import replan
from fleet.management.demo import tools
from fleet.management.demo.calendar import Calendar
from fleet.management.demo.cast import MODELS, ModelSheet
from fleet.management.demo.fleet import sheet_of
from fleet.management.demo.instruments import Instrument as Sheet
from fleet.management.demo.instruments import told_errors
from fleet.management.demo.mechanics import Actuator
from fleet.management.demo.register import Rows
from fleet.management.demo.streams import SEED, stream
from fleet.management.demo.strokes import Bench, Hand
from fleet.management.demo.toolroom import INSTRUMENTS
from fleet.models import (
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

CHECKS_EACH, CHUNK, LIBRARY, PER_DEPOT = 6, 1000, 240, 400
CERTIFIED_DAY, VALID_DAYS, FIRST_DAY = -900, 2000, -760
PATTERNS = {"dial": "SM-D2", "gauge": "QF-G1", "command": "SM-C1"}
HAND = Hand(rise=(0.70, 0.85, 0.94), returns=False)
PERSON = "bench"


@dataclass(frozen=True, slots=True)
class Judged:
    """A stroke of the library: its readings' columns and the columns of its verdict."""

    readings: list[dict[str, Any]]
    verdict: dict[str, Any]


@dataclass(frozen=True, slots=True)
class Library:
    """Judged strokes of one model in rising order of their true travel."""

    model: TurbochargerModel
    sheet: ModelSheet
    specification: SpecificationRevision
    travels: list[float]
    strokes: list[Judged]

    def near(self, travel_mm: float) -> Judged:
        return self.strokes[min(bisect_left(self.travels, travel_mm), len(self.strokes) - 1)]


@dataclass(frozen=True, slots=True)
class Place:
    """A depot with its instruments by kind."""

    depot: Depot
    tools: dict[str, Instrument]


def load_bench_fleet(size: int, *, seed: int = SEED) -> int:
    """Make ``size`` turbochargers, each in a truck of its own with six checks; returns the number of checks.

    The person ``bench`` manages every depot.
    """
    calendar = Calendar(timezone.localdate())
    with transaction.atomic():
        user, places, libraries = _foundation(size, calendar, seed)
    for start in range(0, size, CHUNK):
        numbers = range(start, min(start + CHUNK, size))
        with transaction.atomic():
            units = _register(numbers, places, libraries, calendar, seed)
            _checks(units, user, places, libraries, calendar, seed)
        replan([unit.pk for unit in units])
    refit()
    return size * CHECKS_EACH


def _foundation(size: int, calendar: Calendar, seed: int) -> tuple[User, list[Place], list[Library]]:
    user = User.objects.create_user(PERSON, password=f"{PERSON}-and-the-tide")
    rows, places = Rows(people={"marram": user}), []
    for number in range(1 + (size - 1) // PER_DEPOT):
        depot = Depot.objects.create(code=f"B{number:03d}", name=f"Bench depot {number:03d}", checks_per_day=20)
        Membership.objects.create(user=user, depot=depot, role=Membership.Role.MANAGER)
        rows.depots[depot.code] = depot
        places.append(Place(depot, _tools(rows, depot, calendar, seed)))
    for sheet in MODELS:
        rows.models[sheet.code] = TurbochargerModel.objects.create(name=sheet.name, stimulus=sheet.stimulus)
    revisions = tools.load_specifications(rows, calendar)
    libraries = [
        _library(
            rows.models[sheet.code], sheet, revisions[sheet.code, sheet.specifications[-1].revision], places[0], seed
        )
        for sheet in MODELS
    ]
    return user, places, libraries


def _pattern(kind: str, depot: str) -> Sheet:
    found = next(sheet for sheet in INSTRUMENTS if sheet.label == PATTERNS[kind])
    label = f"{depot}-{kind}"
    return replace(found, label=label, depot=depot, knock=None, certified=(CERTIFIED_DAY,), valid_days=VALID_DAYS)


def _tools(rows: Rows, depot: Depot, calendar: Calendar, seed: int) -> dict[str, Instrument]:
    return {kind: tools.load_instrument(rows, _pattern(kind, depot.code), calendar, seed) for kind in PATTERNS}


def _library(
    model: TurbochargerModel, sheet: ModelSheet, revision: SpecificationRevision, place: Place, seed: int
) -> Library:
    limits, random = sheet_of(sheet.specifications[-1]), stream(seed, "bench", sheet.code)
    stimulus = "command" if sheet.stimulus == "electric" else "gauge"
    dial, gauge = _pattern("dial", place.depot.code), _pattern(stimulus, place.depot.code)
    width = limits.upper_mm - limits.lower_mm
    travels = [limits.lower_mm + width * (1.3 * n / LIBRARY - 0.15) for n in range(LIBRARY)]
    told = told_errors(gauge, seed, FIRST_DAY)
    readings = []
    for travel in travels:
        actuator = Actuator(sheet.mechanism, limits.setting, travel)
        bench = Bench(limits, actuator, gauge, told, dial, HAND, FIRST_DAY, random)
        readings.append([_columns(order, typed, gauge) for order, typed in enumerate(bench.stroke())])
    verdicts = _judge(readings, revision, place.tools["dial"], place.tools[stimulus])
    strokes = [Judged(*pair) for pair in zip(readings, verdicts, strict=True)]
    return Library(model, sheet, revision, travels, strokes)


def _columns(order: int, typed: Any, gauge: Sheet) -> dict[str, Any]:
    travel = None if typed.travel is None else convert(float(typed.travel), typed.travel_unit, "mm")
    return {
        "order": order, "phase": typed.phase, "stimulus": convert(float(typed.stimulus), gauge.unit, gauge.base_unit),
        "stimulus_typed": typed.stimulus, "stimulus_unit": typed.stimulus_unit, "travel_mm": travel,
        "travel_typed": typed.travel or "", "travel_unit": typed.travel_unit or "",
    }  # fmt: skip


def _judge(
    strokes: list[list[dict[str, Any]]], revision: SpecificationRevision, dial: Instrument, stimulus: Instrument
) -> list[dict[str, Any]]:
    on = timezone.localdate()
    alignment = to_alignment(geometry=Check.Geometry.FLAT_FACE, angle_deg=None, angle_max_deg=5.0)
    kit = to_instruments(dial=dial, stimulus=stimulus, meter=None, alignment=alignment, on=on)
    limits, policy = to_specification(revision), to_policy(current_policy())
    cases = [
        Case(
            stroke=to_stroke([Reading(**row) for row in rows], on), specification=limits, instruments=kit, policy=policy
        )
        for rows in strokes
    ]
    return [result_columns(result) for result in assess_many(cases)]


def _register(
    numbers: range, places: list[Place], libraries: list[Library], calendar: Calendar, seed: int
) -> list[Turbocharger]:
    """Trucks with their engines and turbochargers, and two readings of each truck's meters."""
    day = calendar.on(FIRST_DAY)
    homes = [places[n // PER_DEPOT].depot for n in numbers]
    pairs = list(zip(numbers, homes, strict=True))
    trucks = Truck.objects.bulk_create(
        [Truck(depot=home, unit_number=f"B{n:06d}", in_service_on=day) for n, home in pairs]
    )
    engines = Engine.objects.bulk_create([Engine(serial=f"BE{n:06d}", model="Bench", depot=home) for n, home in pairs])
    both = list(zip(engines, trucks, strict=True))
    Installation.objects.bulk_create([Installation(engine=e, truck=t, installed_on=day) for e, t in both])
    units = Turbocharger.objects.bulk_create(
        [
            Turbocharger(serial=f"BT{n:06d}", model=libraries[n % len(libraries)].model, depot=home, received_on=day)
            for n, home in pairs
        ]
    )
    Fitment.objects.bulk_create(
        [
            Fitment(turbocharger=unit, engine=engine, fitted_on=day, fitted_odometer_km=0.0)
            for unit, engine in zip(units, engines, strict=True)
        ]
    )
    random = stream(seed, "bench", "meters", numbers.start)
    rates = random.uniform(150.0, 450.0, len(trucks))
    MeterReading.objects.bulk_create(
        [
            MeterReading(truck=truck, read_at=calendar.at(back, 330), odometer_km=round(rate * (back - FIRST_DAY)))
            for truck, rate in zip(trucks, rates, strict=True)
            for back in (-75, -3)
        ]
    )
    return units


def _checks(
    units: list[Turbocharger], user: User, places: list[Place], libraries: list[Library], calendar: Calendar, seed: int
) -> None:
    """Six checks of each unit, some four months apart, along a drift of its own."""
    fitments = dict(Fitment.objects.filter(turbocharger__in=units).values_list("turbocharger", "pk"))
    at = {place.depot.pk: place for place in places}
    by_model = {library.model.pk: library for library in libraries}
    random = stream(seed, "bench", "checks", units[0].serial)
    checks, judged = [], []
    for unit in units:
        library, place = by_model[unit.model_id], at[unit.depot_id]
        limits = library.specification
        spread = 0.3 * (limits.upper_mm - limits.lower_mm)
        travel = limits.nominal_mm + spread * float(random.standard_normal())
        step = 0.15 * spread * float(random.standard_normal())
        for nth in range(CHECKS_EACH):
            day = FIRST_DAY + 20 + 118 * nth + int(random.integers(0, 110))
            made_at = calendar.at(day, 480 + int(random.integers(0, 500)))
            checks.append(_check(unit, fitments[unit.pk], library, place, user, made_at))
            judged.append(library.near(travel + step * nth + 0.02 * float(random.standard_normal())))
    Check.objects.bulk_create(checks, batch_size=1000)
    strokes = Stroke.objects.bulk_create([Stroke(check_made_id=check.pk, moment="as_found") for check in checks])
    pairs = list(zip(strokes, judged, strict=True))
    Reading.objects.bulk_create([Reading(stroke_id=stroke.pk, **row) for stroke, it in pairs for row in it.readings])
    Assessment.objects.bulk_create(
        [
            Assessment(stroke_id=stroke.pk, specification_id=check.specification_id, **it.verdict)
            for check, (stroke, it) in zip(checks, pairs, strict=True)
        ],
        batch_size=500,
    )


def _check(unit: Turbocharger, fitment: int, library: Library, place: Place, user: User, made_at: datetime) -> Check:
    stimulus = place.tools["command" if library.sheet.stimulus == "electric" else "gauge"]
    return Check(
        turbocharger_id=unit.pk, fitment_id=fitment, depot_id=place.depot.pk, technician_id=user.pk,
        specification_id=library.specification.pk,
        reason=Check.Reason.SCHEDULED, made_at=made_at, dial_id=place.tools["dial"].pk,
        stimulus_instrument_id=stimulus.pk,
        cautions_read_at=made_at - timedelta(minutes=10), source="bench",
    )  # fmt: skip
