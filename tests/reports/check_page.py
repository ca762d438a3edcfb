"""The page of a check."""

from django.urls import reverse


def page(signed_in, user, check, name="check"):
    """The page's text as served."""
    answer = signed_in(user).get(reverse(f"reports:{name}", args=[check.pk]))
    assert answer.status_code == 200
    return answer.content.decode()
