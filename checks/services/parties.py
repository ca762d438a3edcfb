"""The rows that a check refers to, found within what the person may see, and refused where they do not fit."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Q

from checks.models import Instrument, SpecificationRevision
from checks.selectors.days import day_at
from checks.selectors.specification import revision_in_force
from checks.services.faults import Faults
from checks.services.parts import find_instruments
from checks.services.quantity import number_of
from checks.services.submission import Submission
from fleet.models import Complaint, Fitment, Installation, Membership, Truck, Turbocharger, User
from fleet.problems import FleetError
from fleet.selectors.scope import require, visible_to


@dataclass(frozen=True, slots=True)
class Parties:
    """What was checked, by which revision, with what, and where it sat. ``on`` is the day at its depot."""

    turbocharger: Turbocharger
    on: date
    specification: SpecificationRevision
    dial: Instrument
    stimulus: Instrument
    meter: Instrument | None
    regulator: Instrument | None
    fitment: Fitment | None
    truck: Truck | None
    complaint: Complaint | None


def find_turbocharger(user: User, raw: Any) -> Turbocharger:
    """The turbocharger that ``user`` may check.

    Raises
    ------
    FleetError
        ``no_such_turbocharger`` (404) also where another depot holds it; ``not_allowed`` (403) for a viewer.
    """
    rows = visible_to(user, Turbocharger.objects.select_related("model", "depot"))
    turbocharger = rows.filter(pk=number_of(raw)).first()
    if turbocharger is None:
        raise FleetError(
            "no_such_turbocharger", "turbocharger", "None of your depots has this turbocharger.", status=404
        )
    require(user, Membership.Role.TECHNICIAN, turbocharger.depot)
    return turbocharger


def find_parties(user: User, turbocharger: Turbocharger, sent: Submission, faults: Faults) -> Parties | None:
    """Look up the rest, or return None with everything that does not fit in ``faults``."""
    on = day_at(turbocharger.depot, sent.made_at)
    fitment, truck = _where_fitted(turbocharger, on, faults)
    # By a wrong date the revision could only be wrong as well.
    specification = None if faults.errors else _specification(turbocharger, sent, on, faults)
    tools = find_instruments(user, sent, turbocharger.model.stimulus, on, faults)
    complaint = _complaint(sent, truck, faults)
    if faults.errors or specification is None or tools["dial"] is None or tools["stimulus"] is None:
        return None
    return Parties(
        turbocharger=turbocharger,
        on=on,
        specification=specification,
        dial=tools["dial"],
        stimulus=tools["stimulus"],
        meter=tools["meter"],
        regulator=tools["regulator"],
        fitment=fitment,
        truck=truck,
        complaint=complaint,
    )


def _where_fitted(turbocharger: Turbocharger, on: date, faults: Faults) -> tuple[Fitment | None, Truck | None]:
    """The fitment and truck of that day; off the engine, a unit may be checked on the bench."""
    if on < turbocharger.received_on or (turbocharger.scrapped_on and on > turbocharger.scrapped_on):
        end = f" to {turbocharger.scrapped_on:%-d %b %Y}" if turbocharger.scrapped_on else ""
        faults.add(
            "not_here_then",
            "made_at",
            f"{turbocharger} was in the fleet from {turbocharger.received_on:%-d %b %Y}{end}, "
            f"not on {on:%-d %b %Y}. Correct the date.",
        )
        return None, None
    through = Q(fitted_on__lte=on) & (Q(removed_on__isnull=True) | Q(removed_on__gte=on))
    fitments = turbocharger.fitments.select_related("engine")
    fitment = fitments.filter(through).order_by("-fitted_on", "-pk").first()
    if fitment is None:
        later = fitments.filter(fitted_on__gt=on).order_by("fitted_on").first()
        if later and not fitments.filter(removed_on__lt=on).exists():
            faults.add(
                "before_fitting",
                "made_at",
                f"{turbocharger} was fitted on {later.fitted_on:%-d %b %Y}; "
                f"a check on {on:%-d %b %Y} lies before that. Correct the date.",
            )
        return None, None
    stay = Q(installed_on__lte=on) & (Q(removed_on__isnull=True) | Q(removed_on__gte=on))
    installation = (
        Installation.objects.filter(stay, engine=fitment.engine).select_related("truck").order_by("-installed_on")
    ).first()
    return fitment, installation.truck if installation else None


def _specification(
    turbocharger: Turbocharger, sent: Submission, on: date, faults: Faults
) -> SpecificationRevision | None:
    """The revision in force on the day, which must be the one that the technician worked by."""
    in_force = revision_in_force(turbocharger.model, on)
    if in_force is None:
        faults.add(
            "no_specification",
            "specification",
            f"No specification of {turbocharger.model} was in force on {on:%-d %b %Y}. Ask a manager to enter it.",
        )
        return None
    if number_of(sent.specification) != in_force.pk:
        raise FleetError(
            "revision_changed",
            "specification",
            f"On {on:%-d %b %Y} revision {in_force.revision} of {turbocharger.model} was in force, "
            f"not the one this check was made by. "
            f"Look at revision {in_force.revision}; if the stroke was made as it asks, sign again by it.",
            status=409,
        )
    return in_force


def _complaint(sent: Submission, truck: Truck | None, faults: Faults) -> Complaint | None:
    if sent.complaint in (None, ""):
        return None
    complaint = Complaint.objects.filter(pk=number_of(sent.complaint), truck=truck).first() if truck else None
    if complaint is None:
        faults.add("no_such_complaint", "complaint", "The truck has no such complaint. Choose one of its own, or none.")
    return complaint
