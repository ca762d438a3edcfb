"""A server that fails: before it records a check, or after, so that its answer never arrives."""

import os
import random
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

PATH = "/tablet/checks/"
BEFORE, AFTER = 0.12, 0.12


class CuttingMiddleware:
    """Fails on about one check in four."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response
        self.chance = random.Random(os.environ["CUT_SEED"])

    def __call__(self, request: HttpRequest) -> HttpResponse:
        drawn = self.chance.random() if request.path == PATH else 1.0
        if drawn < BEFORE:
            return HttpResponse("failed before", status=500)
        answer = self.get_response(request)
        return HttpResponse("failed after", status=502) if drawn < BEFORE + AFTER else answer
