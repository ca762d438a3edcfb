"""Answers to our own scripts: JSON instead of pages, also where something is refused."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.http import HttpResponse, JsonResponse

from fleet.problems import FleetError
from fleet.web.problem_details import CONTENT_TYPE, problem_of

SIGNED_OUT = "You are signed out. Sign in; what waits on this device stays there until then."


def told(error: FleetError) -> JsonResponse:
    """A refusal as a problem document (RFC 9457)."""
    return JsonResponse(problem_of(error), status=error.status, content_type=CONTENT_TYPE)


def for_script(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """Open a view to people who signed in; whoever did not gets 401, and a refusal is a problem document."""

    @wraps(view)
    def opened(request: Any, *args: Any, **kwargs: Any) -> HttpResponse:
        if not request.user.is_authenticated:
            return told(FleetError("signed_out", "", SIGNED_OUT, status=401))
        try:
            return view(request, *args, **kwargs)
        except FleetError as error:
            return told(error)

    return opened
