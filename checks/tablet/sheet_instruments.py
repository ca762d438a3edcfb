"""An instrument as a tablet's sheet tells it."""

from datetime import date
from typing import Any

from checks.convert import certificate_on
from checks.display import day_text
from checks.models import Instrument


def instrument_on_sheet(row: Instrument, on: date) -> dict[str, Any]:
    """Its scale as kept, and the certificate that covers the day."""
    certificate = certificate_on(row.certificates.all(), on)
    typed = (row.typed or {}).get("division") or ["", ""]
    return {
        "pk": row.pk,
        "label": row.label,
        "kind": row.kind,
        "kind_word": row.get_kind_display(),
        "depot": row.depot_id,
        "division": row.division,
        "own_unit": typed[1],
        "electrical_unit": row.electrical_unit,
        "sensitivity": row.sensitivity,
        "offset": row.offset,
        "certificate": certificate
        and {
            "number": certificate.number,
            "due_on": certificate.due_on.isoformat(),
            "due_text": day_text(certificate.due_on),
        },
    }
