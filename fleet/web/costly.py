"""Pages that cost much are not given more often than a person can use them: files, sheets, uploads, reviews.

A view names the methods that cost in its attribute `costly`. Programs are counted elsewhere, by their tokens.
"""

import logging
import time
from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.core.cache import cache
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from redis.exceptions import RedisError

from fleet.problems import FleetError

logger = logging.getLogger(__name__)
Answer = Callable[[HttpRequest], HttpResponse]
SENTENCE = "You asked for this more often in the last minute than it can be made. Wait a minute, then ask again."


class CostlyMiddleware:
    """Counts by person and minute; beyond the count a page says to wait, and nothing is done."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(self, request: HttpRequest, view: Any, args: Any, kwargs: Any) -> HttpResponse | None:
        """Refuse before the view does anything."""
        costly = getattr(getattr(view, "view_class", None), "costly", ())
        if request.method not in costly or not request.user.is_authenticated:
            return None
        if _count(f"costly:{request.user.pk}:{int(time.time() // 60)}") <= settings.COSTLY_RATE:
            return None
        answer = render(
            request, "fleet/problem.html", {"problem": FleetError("too_often", "", SENTENCE, status=429)}, status=429
        )
        answer["Retry-After"] = "60"
        return answer


def _count(key: str) -> int:
    """Count one more; where the count cannot be kept, work goes on."""
    try:
        cache.add(key, 0, timeout=120)
        return cache.incr(key)
    except (RedisError, ValueError):
        logger.warning("Costly pages are not counted: their store does not answer")
        return 0
