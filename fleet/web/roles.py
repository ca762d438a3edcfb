"""What a person may do somewhere: for pages that offer an action, or say who takes it."""

from typing import Any

from django.http import HttpRequest
from django.utils.functional import SimpleLazyObject

from fleet.selectors.scope import holds
from fleet.web.access import MANAGER, TECHNICIAN, VIEWER


def roles(request: HttpRequest) -> dict[str, Any]:
    """What each name says holds at some depot; a query each, and only on pages that use them."""
    return {
        "may_read": SimpleLazyObject(lambda: holds(request.user, VIEWER)),
        "may_manage": SimpleLazyObject(lambda: holds(request.user, MANAGER)),
        "may_check": SimpleLazyObject(lambda: holds(request.user, TECHNICIAN)),
    }
