"""What a complaint has to do with checks: the units it is about, and the checks that may have answered it."""

from datetime import UTC, datetime, time, timedelta

from django.db.models import Exists, F, OuterRef, Q, QuerySet

from checks.models import Check
from fleet.models import Complaint, Fitment, Installation, Truck, Turbocharger

# Checks offered as the answer of one complaint, the latest first.
OFFERED = 20


def units_on(truck: Truck) -> list[int]:
    """Primary keys of the turbochargers that the truck carries today; one query."""
    rows = Fitment.objects.filter(
        removed_on__isnull=True, engine__installations__truck=truck, engine__installations__removed_on__isnull=True
    )
    return list(rows.order_by("turbocharger").values_list("turbocharger", flat=True))


def answering_checks(complaint: Complaint) -> QuerySet[Check]:
    """Checks of turbochargers on the truck since the complaint was raised, or made because of it; latest first."""
    carried = Installation.objects.filter(
        Q(removed_on__isnull=True) | Q(removed_on__gte=OuterRef("day")),
        engine=OuterRef("fitment__engine"),
        truck=complaint.truck_id,
        installed_on__lte=OuterRef("day"),
    )
    # A day begins up to fourteen hours before it does in UTC.
    since = datetime.combine(complaint.raised_on, time(), UTC) - timedelta(hours=14)
    rows = Check.objects.annotate(day=F("made_at__date"))
    return rows.filter(Q(complaint=complaint) | (Q(made_at__gte=since) & Q(Exists(carried)))).order_by(
        "-made_at", "-pk"
    )


def truck_with(unit: Turbocharger) -> Truck | None:
    """The truck that carries a turbocharger today; one query."""
    return (
        Truck.objects.filter(
            installations__removed_on__isnull=True,
            installations__engine__fitments__turbocharger=unit,
            installations__engine__fitments__removed_on__isnull=True,
        )
        .select_related("depot")
        .first()
    )
