"""Whether visitors have changed a demonstration since it was loaded."""

from django.db.models import Exists

from checks.models import Amendment, Certificate, Check, SpecificationRevision
from fleet.models import Complaint, Demonstration, TripImport


def entered_since(shown: Demonstration) -> list[str]:
    """What was entered or changed since the load, in words; one query."""
    at = shown.loaded_at
    rows = {
        "checks": Check.objects.filter(recorded_at__gt=at),
        "amendments": Amendment.objects.filter(made_at__gt=at),
        "trips": TripImport.objects.filter(sent_at__gt=at),
        "complaints": Complaint.history.filter(history_date__gt=at),
        "certificates": Certificate.history.filter(history_date__gt=at),
        "specifications": SpecificationRevision.history.filter(history_date__gt=at),
    }
    (found,) = Demonstration.objects.filter(pk=shown.pk).values_list(*map(Exists, rows.values()))
    return [name for name, entered in zip(rows, found, strict=True) if entered]
