"""Where a request comes from, as far as it can be believed."""

from django.conf import settings
from django.http import HttpRequest


def address_of(request: HttpRequest) -> str:
    """Return the sender's address: what our own proxy wrote down last, or who is connected where there is none.

    Everything before the proxy's own entry is what the sender claims.
    """
    connected = str(request.META.get("REMOTE_ADDR", ""))
    if not settings.REST_FRAMEWORK["NUM_PROXIES"]:
        return connected
    noted = request.headers.get("X-Forwarded-For", "").rpartition(",")[2].strip()
    return noted or connected
