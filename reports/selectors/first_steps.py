"""How far an installation has come on its way to the first check."""

from dataclasses import dataclass

from django.utils import timezone

from checks.models import Check, Instrument
from checks.models.instrument_parts import POSITION, PRESSURE
from checks.selectors.instrument import instrument_rows
from checks.selectors.specification import dated_for
from fleet.models import Fitment, Membership, Truck, TurbochargerModel, User
from fleet.selectors.scope import depots_of, visible_to

FIT, UNFIT = {"in_date", "due_soon"}, {"no_certificate", "out_of_date"}
TRAVEL = {Instrument.Kind.DIAL}
STIMULUS = {*PRESSURE, *POSITION}


@dataclass(frozen=True, slots=True)
class FirstSteps:
    """What is there at the depots that a person manages.

    ``specifications``: those in force; ``model``: one without any, if any; ``uncertified``: an instrument without a
    certificate in force, if any.
    """

    depots: int
    people: int
    models: int
    specifications: int
    model: int | None
    dials: int
    stimuli: int
    unfit: int
    uncertified: int | None
    trucks: int
    fitted: int
    checks: int


def first_steps(user: User) -> FirstSteps:
    """Count it; a constant number of queries."""
    depots = depots_of(user, role=Membership.Role.MANAGER)
    rows = instrument_rows(user, on=timezone.localdate())
    fit = [row.instrument.kind for row in rows if row.state in FIT]
    managed = set(depots.values_list("pk", flat=True))
    bare = [row.instrument for row in rows if row.state in UNFIT]
    in_force = dated_for(timezone.localdate())
    unspecified = TurbochargerModel.objects.exclude(specifications__in=in_force).order_by("pk")
    return FirstSteps(
        depots=depots.count(),
        people=Membership.objects.filter(depot__in=depots).values("user").distinct().count(),
        models=TurbochargerModel.objects.count(),
        specifications=in_force.count(),
        model=unspecified.values_list("pk", flat=True).first(),
        dials=sum(kind in TRAVEL for kind in fit),
        stimuli=sum(kind in STIMULUS for kind in fit),
        unfit=sum(row.state in UNFIT for row in rows),
        uncertified=next((tool.pk for tool in bare if tool.depot_id in managed), None),
        trucks=visible_to(user, Truck.objects.filter(retired_on=None)).count(),
        fitted=visible_to(user, Fitment.objects.filter(removed_on=None), depot="turbocharger__depot").count(),
        checks=visible_to(user, Check.objects.all()).count(),
    )
