"""How often a program may ask: counted for each token, each person without one, and each address that is neither."""

import logging
from typing import Any

from django.conf import settings
from redis.exceptions import RedisError
from rest_framework.request import Request
from rest_framework.throttling import SimpleRateThrottle

from fleet.models import Token

logger = logging.getLogger(__name__)


class _Rate(SimpleRateThrottle):
    per_minute = ""

    def get_rate(self) -> str:
        return f"{getattr(settings, self.per_minute)}/minute"

    def allow_request(self, request: Request, view: Any) -> bool:
        """Return whether there is room; where the count cannot be kept, work goes on."""
        try:
            return bool(super().allow_request(request, view))
        except RedisError:
            logger.warning("Requests are not counted: their store does not answer")
            return True


class ProgramRate(_Rate):
    """Somebody known: each token has a count of its own, sessions of a person share one."""

    per_minute = "API_RATE"

    def get_cache_key(self, request: Request, view: Any) -> str | None:
        if isinstance(request.auth, Token):
            return f"rate:token:{request.auth.pk}"
        return f"rate:person:{request.user.pk}" if request.user.is_authenticated else None


class StrangerRate(_Rate):
    """Nobody known, by address."""

    per_minute = "API_RATE_STRANGERS"

    def get_cache_key(self, request: Request, view: Any) -> str | None:
        known = view is not None and request.user.is_authenticated
        return None if known else f"rate:address:{self.get_ident(request)}"
