"""Whether this fleet is invented, and what is known of one that is."""

from fleet.models import Demonstration


def demonstration() -> Demonstration | None:
    """The mark of a demonstration; None in a fleet of one's own."""
    return Demonstration.objects.first()


def invented_people() -> list[dict[str, str]]:
    """Who may sign in to a demonstration, with the passwords that everybody knows; nobody in a fleet of one's own."""
    return Demonstration.objects.values_list("people", flat=True).first() or []
