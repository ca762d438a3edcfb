"""A sheet of paper that is typed in."""

from typing import Any

from django.test import Client

from tests.bay import RISE, Bay

KEY = "0c8bb9b1-59a4-4a2e-9a8f-0a64e8bd7f10"


def sheet(bay: Bay, **changes: str) -> dict[str, str]:
    """The boxes of a good sheet, in psi and thousandths of an inch."""
    typed = {
        "key": KEY,
        "action": "sign",
        "day": "2025-03-04",
        "begun": "9.30",
        "cautions": "0905",
        "reason": "scheduled",
        "odometer": "212000",
        "odometer_unit": "km",
        "engine_hours": "5120,5",
        "specification": str(bay.specification.pk),
        "dial": str(bay.dial.pk),
        "stimulus": str(bay.gauge.pk),
        "geometry": "flat_face",
        "angle_max": "2",
        "p_unit": "psi",
        "x_unit": "thou",
        **stroke("found", "59.5"),
    }
    return typed | changes


def stroke(prefix: str, at_setting: str) -> dict[str, str]:
    """The lines of one stroke."""
    typed = {f"{prefix}-exercise-{i}-p": "35" for i in (1, 2, 3)}
    for line in ("zero", "back"):
        typed |= {f"{prefix}-{line}-p": "0", f"{prefix}-{line}-x": "0"}
    for i, (psi, thou) in enumerate(RISE, 1):
        typed |= {f"{prefix}-rise-{i}-p": str(psi), f"{prefix}-rise-{i}-x": str(thou)}
    return typed | {f"{prefix}-setting-p": "31", f"{prefix}-setting-x": at_setting}


def send(bay: Bay, typed: dict[str, str], user: Any = None) -> Any:
    client = Client()
    client.force_login(user or bay.technician)
    return client.post(f"/checks/quick/{bay.turbocharger.pk}/", typed)


def look(bay: Bay, user: Any = None) -> str:
    client = Client()
    client.force_login(user or bay.technician)
    return client.get(f"/checks/quick/{bay.turbocharger.pk}/").content.decode()
