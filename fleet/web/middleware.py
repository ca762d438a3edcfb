"""A FleetError that a page let through becomes a page with its sentence."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fleet.problems import FleetError

Answer = Callable[[HttpRequest], HttpResponse]


class FleetErrorMiddleware:
    """Last resort for pages; a form shows its own errors beside the fields."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        """Answer with the error's own status and sentence."""
        if not isinstance(error, FleetError):
            return None
        return render(request, "fleet/problem.html", {"problem": error}, status=error.status)
