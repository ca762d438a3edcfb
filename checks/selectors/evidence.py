"""The records about one complaint, as the rules weigh them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from django.db.models import Q
from django.utils import timezone
from scipy.special import ndtr

from checks.measurement.quantiles import NORMAL_95
from checks.models import Assessment, Check, Forecast, FuelMonth, SpecificationRevision
from checks.rules.evidence import Evidence, ForecastTravel, FuelSaid, Look, Stand, against_own_level, weigh
from checks.selectors.days import day_at, month_of
from checks.selectors.policy import current_policy
from checks.selectors.specification import revisions_in_force
from fleet.models import Complaint, Fitment, Installation

# Months before and after the complaint that its picture shows.
BACK, ON = 14, 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """A turbocharger that the truck carried on the day of the complaint, with the window in force then."""

    turbocharger: int
    serial: str
    position: str
    window: SpecificationRevision | None
    checks: tuple[tuple[int, Look], ...]
    fitted_now: bool

    @property
    def name(self) -> str:
        """Its position where the truck carries two, else its serial number."""
        return self.serial if self.position == Fitment.Position.SINGLE else self.position


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """What is said of a complaint, with what it was drawn from; ``months`` by month, around the complaint."""

    evidence: Evidence
    carried: tuple[Carried, ...]
    fuel: FuelSaid | None
    months: tuple[FuelMonth, ...]
    month: int
    level: float

    def carried_as(self, name: str) -> Carried:
        """The unit of that name."""
        return next(row for row in self.carried if row.name == name)


def weighed(complaint: Complaint) -> Weighed:
    """Weigh the records about a complaint, which has its truck and depot at hand; eight queries."""
    on, month = complaint.raised_on, month_of(complaint.raised_on)
    fitments = _fitments_on(complaint.truck_id, on)
    looks = _looks(fitments, complaint)
    windows = revisions_in_force({row.turbocharger.model for row in fitments}, on)
    forecasts = {row.turbocharger_id: row for row in _forecasts(fitments)}
    carried = tuple(
        Carried(
            turbocharger=row.turbocharger_id, serial=row.turbocharger.serial, position=row.position,
            window=windows.get(row.turbocharger.model_id), checks=tuple(looks.get(row.pk, ())),
            fitted_now=row.removed_on is None,
        )
        for row in fitments
    )  # fmt: skip
    stands = [_stand(row, forecasts.get(row.turbocharger), on) for row in carried]
    past = list(FuelMonth.objects.filter(truck=complaint.truck_id, month__lte=month + ON).order_by("month"))
    months = tuple(row for row in past if row.month >= month - BACK)
    fuel, level = _fuel(past, month), current_policy().inside_level
    evidence = weigh(stands, on, fuel, level)
    return Weighed(evidence=evidence, carried=carried, fuel=fuel, months=months, month=month, level=level)


def _fitments_on(truck: int, on: date) -> list[Fitment]:
    then = Q(installed_on__lte=on) & (Q(removed_on__isnull=True) | Q(removed_on__gt=on))
    engines = Installation.objects.filter(then, truck=truck).values("engine")
    rows = Fitment.objects.filter(
        Q(removed_on__isnull=True) | Q(removed_on__gt=on), engine__in=engines, fitted_on__lte=on
    )
    return list(rows.select_related("turbocharger__model").order_by("position", "pk"))


def _looks(fitments: Sequence[Fitment], complaint: Complaint) -> dict[int, list[tuple[int, Look]]]:
    """Checks of each fitment in the order made; two queries."""
    checks = list(Check.objects.filter(fitment__in=fitments).select_related("depot").order_by("made_at", "pk"))
    strokes: dict[int, dict[str, tuple[str, float | None, float | None]]] = {}
    rows = Assessment.objects.filter(stroke__check_made__in=checks, is_current=True)
    columns = ("stroke__check_made", "stroke__moment", "state", "travel_mm", "expanded_uncertainty_mm")
    for check, moment, *judged in rows.values_list(*columns):
        strokes.setdefault(check, {})[moment] = (judged[0], judged[1], judged[2])
    looks: dict[int, list[tuple[int, Look]]] = {}
    for row in checks:
        found = strokes.get(row.pk, {}).get("as_found", (Assessment.State.VOID, None, None))
        left = strokes.get(row.pk, {}).get("as_left", ("", None, None))
        look = Look(
            on=day_at(row.depot, row.made_at), state=found[0], travel_mm=found[1], expanded_mm=found[2],
            left=left[0], left_mm=left[1], left_expanded_mm=left[2],
        )  # fmt: skip
        looks.setdefault(row.fitment_id or 0, []).append((row.pk, look))
    return looks


def _forecasts(fitments: Sequence[Fitment]) -> list[Forecast]:
    """Forecasts of those that are still fitted as they were then."""
    units = [row.turbocharger_id for row in fitments if row.removed_on is None]
    return list(Forecast.objects.filter(turbocharger__in=units).defer("innovations"))


def _stand(carried: Carried, forecast: Forecast | None, on: date) -> Stand:
    looks = [look for _, look in carried.checks]
    before = [look for look in looks if look.on < on]
    since = [look for look in looks if look.on >= on]
    told = next((look for look in since if look.state != Assessment.State.VOID), since[0] if since else None)
    return Stand(
        name=carried.name,
        before=before[-1] if before else None,
        since=told,
        forecast=_forecast_on(forecast, carried.window, on) if forecast and carried.window else None,
    )


def _forecast_on(said: Forecast, window: SpecificationRevision, on: date) -> ForecastTravel | None:
    """The forecast on a day within the present setting, after the last reading; usage between by days."""
    made, began = timezone.localtime(said.derived_at).date(), said.epoch_began_on
    path = np.array([row[:6] for row in said.path], dtype=np.float64)
    if on < began or not len(path):
        return None
    usage = said.usage_now * (on - began) / max(made - began, timedelta(days=1))
    if usage < path[0, 0] or usage > path[-1, 0]:
        return None
    mean, low, high = (float(np.interp(usage, path[:, 0], path[:, column])) for column in (1, 2, 5))
    sd = max((high - low) / (2 * NORMAL_95), 1e-9)
    below, above = ndtr((window.lower_mm - mean) / sd), ndtr((mean - window.upper_mm) / sd)
    return ForecastTravel(travel_mm=mean, sd_mm=sd, p_low=float(below), p_high=float(above), readings=said.readings)


def _fuel(months: Sequence[FuelMonth], at: int) -> FuelSaid | None:
    alarm = any(row.thirsty for row in months if 0 <= at - row.month < 2)
    return against_own_level([row.month for row in months], [row.log_fuel for row in months], at, alarm=alarm)
