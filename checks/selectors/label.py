"""What stands in the code on a turbocharger's label, and which turbocharger a scanned label names."""

import hashlib

from django.conf import settings
from django.urls import reverse

from fleet.models import Turbocharger, User
from fleet.problems import FleetError
from fleet.selectors.scope import visible_to

# Without I, L, O and U, which are misread when a code is copied by hand.
DIGITS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
TAG_DIGITS = 5


def label_code(turbocharger: Turbocharger) -> str:
    """The code of a turbocharger: its number in the register, then a few digits that follow from its serial number.

    The second part tells labels of another register, where the number belongs to another turbocharger.
    """
    tag = int.from_bytes(hashlib.sha256(turbocharger.serial.casefold().encode()).digest()[:8], "big")
    return f"{_written(turbocharger.pk)}-{_written(tag)[-TAG_DIGITS:]}"


def label_address(turbocharger: Turbocharger) -> str:
    """The whole address in the code: it opens the unit in a browser, and without a network in the tablet's app."""
    return f"{settings.SITE_URL}{reverse('checks:label', args=[label_code(turbocharger)])}"


def unit_of_label(user: User, code: str) -> Turbocharger:
    """The turbocharger whose label bears `code`; one query.

    Raises
    ------
    FleetError
        ``unknown_label`` (404), also where another depot holds it; ``label_of_another`` (404).
    """
    number, _, tag = code.upper().partition("-")
    pk = _read(number)
    rows = visible_to(user, Turbocharger.objects.select_related("model", "depot"))
    found = rows.filter(pk=pk).first() if pk else None
    if found is None:
        raise FleetError(
            "unknown_label",
            "",
            "No turbocharger at your depots has this label. Find it by its serial number.",
            status=404,
        )
    if label_code(found).partition("-")[2] != tag:
        raise FleetError(
            "label_of_another",
            "",
            "This label is not of this register, or its turbocharger was given another serial number since. "
            "Read the serial number on the turbocharger itself, and print a new label.",
            status=404,
        )
    return found


def _written(number: int) -> str:
    text = ""
    while number:
        number, digit = divmod(number, len(DIGITS))
        text = DIGITS[digit] + text
    return text or DIGITS[0]


def _read(text: str) -> int | None:
    if not text or len(text) > 12 or any(digit not in DIGITS for digit in text):
        return None
    number = 0
    for digit in text:
        number = number * len(DIGITS) + DIGITS.index(digit)
    return number
