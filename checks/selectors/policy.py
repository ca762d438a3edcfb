"""The fleet's policy."""

from checks.models import Policy


def current_policy() -> Policy:
    """The policy row, or its defaults (unsaved) while nobody has changed any; one query."""
    return Policy.objects.filter(pk=1).first() or Policy(pk=1)
