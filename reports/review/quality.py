"""How good the records are: trips that lack, travel and states that are not known, meters not read."""

from collections import Counter

from checks.models import FuelMonth, TruckMonth
from fleet.models import Truck
from reports.export.frozen import Column, Table, Value, table
from reports.review.found import ALL, made_since
from reports.review.records import Records
from reports.review.states import NEVER, states_on


def quality_table(records: Records) -> Table:
    """Gaps by depot."""
    month = records.month
    trucks = Truck.objects.filter(in_service_on__lte=month.last).exclude(retired_on__lt=month.first)
    if records.depot:
        trucks = trucks.filter(depot=records.depot)
    home = dict(trucks.order_by().values_list("pk", "depot__name"))
    told = set(TruckMonth.objects.filter(month=month.number).values_list("truck", flat=True))
    unknown = set(
        FuelMonth.objects.filter(month=month.number, travel=FuelMonth.Travel.UNKNOWN).values_list("truck", flat=True)
    )
    states = states_on(records, month.last)
    checks = made_since(records, month.first)
    names = sorted({*home.values(), *(row.depot for row in records.units.values())})

    def row(name: str) -> tuple[Value, ...]:
        ours = [pk for pk, depot in home.items() if name in (ALL, depot)]
        stood = Counter(state for pk, state in states.items() if name in (ALL, records.units[pk].depot))
        made = [check for check in checks if name in (ALL, records.depots[check.depot])]
        return (
            name, len(ours), sum(pk not in told for pk in ours), sum(pk in unknown for pk in ours),
            sum(stood.values()), stood[NEVER], stood["undecided"], stood["void"], len(made),
            sum(not check.has_meter for check in made),
        )  # fmt: skip

    return table(
        "data_quality",
        "Data quality",
        "What the records of the month lack.",
        (
            Column("depot", "depot", "Depot; 'all' is the sum."),
            Column("trucks", "trucks", "Trucks in service in the month.", "number"),
            Column(
                "without_trips", "without trips", "Of these, trucks without a trip on record in the month.", "number"
            ),
            Column("travel_unknown", "travel unknown", "Trucks with trips whose travel is not known.", "number"),
            Column("units", "units", "Units in use at the end of the month.", "number"),
            Column("never_checked", "never checked", "Of these, never checked.", "number"),
            Column("undecided", "undecided", "Of these, last check undecided.", "number"),
            Column("void", "void", "Of these, last check void.", "number"),
            Column("checks", "checks", "Checks made in the month.", "number"),
            Column("without_meter", "no meter read", "Of these, without odometer and engine hours.", "number"),
        ),
        [row(name) for name in ((ALL, *names) if len(names) > 1 else (ALL,))],
    )
