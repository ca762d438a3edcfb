"""A fleet of thousands of units, six checks each, for benchmarks and for load; all invented."""

import random
from datetime import timedelta
from itertools import islice

from django.core.management import call_command
from django.db import connection, transaction
from django.utils import timezone

from checks.models import Assessment, Check, DriftFit, Forecast, Standing, Stroke
from checks.services.check import record_check
from fleet.models import Depot, Engine, Fitment, Installation, Membership, Truck, Turbocharger, User
from tests.bay import Bay, make_bay
from tests.factories import DriftFitFactory

CHECKS = 6
DEPOTS = 12
RULES = [
    {
        "rule": "calendar_maximum", "on": "2026-12-20", "by_date": "2026-12-20", "by_usage": None, "odometer_km": None,
        "sentence": "Last seen on 20 Dec 2025: at most 365 days pass between checks.",
        "inputs": {"checked_on": "2025-12-20", "calendar_max_days": 365},
    },
    {
        "rule": "usage_maximum", "on": "2027-02-06", "by_date": None, "by_usage": "2027-02-06", "odometer_km": 726867.7,
        "sentence": "Last seen at 681,868 km: at most 45,000 km are run between checks, so at 726,868 km.",
        "inputs": {"checked_odometer_km": 681867.7, "usage_max_km": 45000.0},
    },
]  # fmt: skip
STATES = ["inside"] * 85 + ["outside_high"] * 4 + ["outside_low"] * 3 + ["undecided"] * 5 + ["void"] * 3


def grow(bay: Bay, size: int) -> None:
    """Add units until the fleet has `size`, each in a truck of its own with six checks."""
    dice = random.Random(size)
    depots = list(Depot.objects.all())
    have = Turbocharger.objects.count()
    pattern = Assessment.objects.select_related("stroke__check_made").order_by("pk").first()
    for start in range(have, size, 500):
        with transaction.atomic():
            _add(bay, range(start, min(start + 500, size)), depots, pattern, dice)
    connection.cursor().execute("ANALYZE")


def _add(bay: Bay, numbers: range, depots: list[Depot], pattern: Assessment, dice: random.Random) -> None:
    homes = [dice.choice(depots) for _ in numbers]
    pairs = list(zip(numbers, homes, strict=True))
    day = timezone.localdate() - timedelta(days=900)
    trucks = Truck.objects.bulk_create(
        Truck(depot=home, unit_number=f"{n:06d}", in_service_on=day) for n, home in pairs
    )
    engines = Engine.objects.bulk_create(Engine(serial=f"BE{n:06d}", model="Skerry", depot=home) for n, home in pairs)
    Installation.objects.bulk_create(
        Installation(engine=engine, truck=truck, installed_on=day)
        for engine, truck in zip(engines, trucks, strict=True)
    )
    model = bay.turbocharger.model
    units = Turbocharger.objects.bulk_create(
        Turbocharger(serial=f"BT{n:06d}", model=model, depot=home, received_on=day) for n, home in pairs
    )
    Fitment.objects.bulk_create(
        Fitment(turbocharger=unit, engine=engine, fitted_on=day) for unit, engine in zip(units, engines, strict=True)
    )
    _check(bay, units, pattern, dice)


def _check(bay: Bay, units: list[Turbocharger], pattern: Assessment, dice: random.Random) -> None:
    now = timezone.now()
    signed = pattern.stroke.check_made
    same = {f.attname: getattr(signed, f.attname) for f in Check._meta.concrete_fields if f.name not in {"id", "key"}}
    checks = Check.objects.bulk_create(
        Check(**same | {"turbocharger_id": unit.pk, "depot_id": unit.depot_id, "fitment_id": None, "made_at": at})
        for unit in units
        for at in sorted(now - timedelta(days=dice.uniform(0, 720)) for _ in range(CHECKS))
    )
    strokes = Stroke.objects.bulk_create(Stroke(check_made=check, moment="as_found") for check in checks)
    plain = {f.attname: getattr(pattern, f.attname) for f in Assessment._meta.concrete_fields if f.name != "id"}
    verdicts = Assessment.objects.bulk_create(
        Assessment(**plain | {"stroke_id": stroke.pk, "state": dice.choice(STATES)}) for stroke in strokes
    )
    _forecast(units, dice)
    last = list(islice(zip(checks, verdicts, strict=True), CHECKS - 1, None, CHECKS))
    Standing.objects.bulk_create(
        Standing(
            turbocharger=unit,
            state=verdict.state,
            last_check=check,
            shown=verdict,
            due_on=timezone.localdate() + timedelta(days=dice.randint(-20, 340)),
            binding_rule="calendar_maximum",
            sentence="Due by the longest time between checks.",
            p_outside_now=dice.random() ** 6,
            leaving=dice.random() < 0.02,
            rules=RULES,
        )
        for unit, (check, verdict) in zip(units, last, strict=True)
    )


def _forecast(units: list[Turbocharger], dice: random.Random) -> None:
    """A forecast for every unit, as long as real ones are."""
    fit = DriftFit.objects.get(is_current=True)
    Forecast.objects.bulk_create(
        Forecast(
            turbocharger=unit,
            fit=fit,
            setting=Forecast.Setting.PLANT,
            epoch_began_on=timezone.localdate() - timedelta(days=300),
            usage_now=(used := dice.uniform(1e4, 2e5)),
            readings=CHECKS,
            travel_now_mm=dice.gauss(1.5, 0.1),
            travel_now_sd_mm=0.05,
            drift_mm=dice.gauss(0.1, 0.1),
            drift_u_mm=0.04,
            p_below_now=0.0,
            p_above_now=dice.random() ** 6,
            level=0.05,
            p_outside_at_horizon=0.1,
            path=[
                [used + 8_300.4 * i, *(1.50123 + 0.01 * q + 0.00234 * i for q in range(5)), 0.02 * i] for i in range(25)
            ],
            innovations=[[i, "as_found", 0.1234, False, 0.0456, 1.2598] for i in range(CHECKS)],
        )
        for unit in units
    )


def prepare() -> tuple[Bay, User]:
    """A fresh database with one checked unit, twelve depots and a manager of them all."""
    call_command("migrate", verbosity=0)
    bay = make_bay()
    record_check(user=bay.technician, submission=bay.submission())
    DriftFitFactory(turbocharger_model=bay.turbocharger.model)
    for n in range(DEPOTS - 1):
        Depot.objects.create(code=f"B{n}", name=f"Bench depot {n}")
    for depot in Depot.objects.exclude(pk=bay.depot.pk):
        Membership.objects.create(user=bay.manager, depot=depot, role=Membership.Role.MANAGER)
    return bay, bay.manager
