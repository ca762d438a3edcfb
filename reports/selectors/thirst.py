"""Fuel of trucks month by month against their own level, and which are thirsty now."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from checks.models import FuelFit, FuelMonth, Restoration
from checks.rules.thirst import monthly_alarm, thirst_now
from checks.selectors.days import first_day
from checks.selectors.fuel import Amount
from fleet.models import Complaint, Truck, User
from fleet.selectors.scope import visible_to
from reports.selectors.fuel_months import MonthOfFuel, beyond_mm, month_of_fuel, share_of, state_of

# More thirsty trucks than this are counted, and the first ones listed.
LISTED = 30


@dataclass(frozen=True, slots=True, kw_only=True)
class TruckFuel:
    """A truck's months. ``more``: above its own level since ``since``, None where nothing rises; ``alarm``: it stands.

    ``level_told`` is False while there are too few months. ``state`` is that of the wastegate in the last month, since
    ``state_since``; empty where it is not known.
    """

    truck: int
    unit_number: str
    depot: str
    turbocharger: int | None
    months: list[MonthOfFuel]
    level_told: bool
    alarm: bool
    more: Amount | None
    since: date | None
    state: str
    state_since: date
    beyond_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitFuel:
    """What the page of a unit shows of fuel."""

    fuel: TruckFuel
    complaints: list[Complaint]
    restorations: list[Restoration]


@dataclass(frozen=True, slots=True, kw_only=True)
class ThirstyTrucks:
    """Trucks whose thirst alarm stands in the last month, by what their wastegates do; ``more`` are not listed."""

    outside: list[TruckFuel]
    inside: list[TruckFuel]
    unknown: list[TruckFuel]
    more: int

    @property
    def count(self) -> int:
        """How many there are."""
        return len(self.outside) + len(self.inside) + len(self.unknown) + self.more


def unit_fuel(truck: Truck | None) -> UnitFuel | None:
    """Fuel of the truck that carries a unit the viewer sees; None where no trips are fitted. Three queries."""
    if truck is None:
        return None
    rows = list(FuelMonth.objects.filter(truck=truck).select_related("truck__depot").order_by("month"))
    if not rows:
        return None
    begin = first_day(rows[0].month)
    return UnitFuel(
        fuel=_truck_fuel(rows),
        complaints=list(Complaint.objects.filter(truck=truck, raised_on__gte=begin).order_by("raised_on", "pk")),
        restorations=list(
            Restoration.objects.filter(truck=truck)
            .select_related("truck__depot", "turbocharger__model")
            .order_by("day")
        ),
    )


def thirsty_trucks(user: User, fit: FuelFit, *, depot: int | None = None) -> ThirstyTrucks:
    """Thirsty trucks at the depots that `user` sees, most thirsty first. Three queries."""
    now = visible_to(user, FuelMonth.objects.filter(month=fit.last_month, thirsty=True), depot="truck__depot")
    now = now.filter(truck__depot=depot) if depot else now
    trucks = list(now.order_by("-cusum", "truck").values_list("truck", flat=True)[:LISTED])
    count = len(trucks) if len(trucks) < LISTED else now.count()
    months: dict[int, list[FuelMonth]] = defaultdict(list)
    # 0 is no truck: the query is made in any case, so that the page costs the same.
    rows = FuelMonth.objects.filter(truck__in=[0, *trucks]).select_related("truck__depot").order_by("truck", "month")
    for row in rows:
        months[row.truck_id].append(row)
    found = [_truck_fuel(months[truck]) for truck in trucks]
    return ThirstyTrucks(
        outside=[one for one in found if one.state.startswith("outside")],
        inside=[one for one in found if one.state == "inside"],
        unknown=[one for one in found if not one.state],
        more=count - len(found),
    )


def _truck_fuel(rows: Sequence[FuelMonth]) -> TruckFuel:
    log_fuel = np.array([row.log_fuel for row in rows])
    found = monthly_alarm(log_fuel, np.zeros(len(rows), np.int64))
    said, told = thirst_now(log_fuel, found), bool(np.isfinite(found.level[-1]))
    level = float(found.level[-1]) if told else float(log_fuel.mean())
    last = rows[-1]
    return TruckFuel(
        truck=last.truck_id,
        unit_number=last.truck.unit_number,
        depot=last.truck.depot.name,
        turbocharger=last.turbocharger_id,
        months=[month_of_fuel(row, level) for row in rows],
        level_told=told,
        alarm=bool(said and said.alarm),
        more=share_of(said.more, said.low, said.high) if said else None,
        since=first_day(rows[said.begun].month) if said else None,
        state=state_of(last),
        state_since=_state_since(rows),
        beyond_mm=beyond_mm(last),
    )


def _state_since(rows: Sequence[FuelMonth]) -> date:
    """First day of the months in a row in which the wastegate was as it is in the last one."""
    begun = rows[-1]
    for row in reversed(rows):
        if row.travel != rows[-1].travel:
            break
        begun = row
    return first_day(begun.month)
