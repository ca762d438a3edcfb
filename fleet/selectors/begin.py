"""Whether anybody was here before."""

from fleet.models import User


def is_empty() -> bool:
    """Whether nobody can sign in yet."""
    return not User.objects.exists()
