"""Pages for what went wrong, in the project's own clothes; programs get a problem document instead."""

import logging
import sys

from django.core.exceptions import RequestDataTooBig
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render

from fleet.log import request_id
from fleet.problems import disk_is_full
from fleet.web.access import page_of
from fleet.web.problem_details import CONTENT_TYPE, problem

logger = logging.getLogger(__name__)

NO_ROOM = (
    "The register's disk is full, so nothing of this was kept. Keep what you sent, tell whoever runs the register, "
    "and send it again when there is room."
)
PLAIN = "Something failed on our side. Nothing you entered before was lost. Go back and try again."


def for_program(request: HttpRequest, status: int, code: str, title: str) -> HttpResponse | None:
    """A problem document where a program asked and no view of the interface could answer; else None."""
    if not request.path.startswith("/api/"):
        return None
    return JsonResponse(problem(status=status, code=code, title=title), status=status, content_type=CONTENT_TYPE)


def bad_request(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """Answer 400."""
    if isinstance(exception, RequestDataTooBig):
        told = for_program(request, 413, "body_too_long", "Too much was sent at once. Send less, in several requests.")
        if told:
            return told
    if told := for_program(request, 400, "bad_request", "The request cannot be read."):
        return told
    return render(request, "400.html", status=400)


def forbidden(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """Answer 403 with the reason that the view gave, if it gave one."""
    if told := for_program(request, 403, "permission_denied", "This is not open to you."):
        return told
    return render(request, "403.html", {"reason": str(exception or "")}, status=403)


def not_found(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """Answer 404."""
    if told := for_program(request, 404, "not_found", "There is nothing at this address; /api/v1/docs/ lists them."):
        return told
    return render(request, "404.html", status=404)


def failed(request: HttpRequest) -> HttpResponse:
    """Answer 500; falls back to plain text when the page itself cannot be drawn."""
    if disk_is_full(sys.exc_info()[1]):
        return no_room(request)
    if told := for_program(request, 500, "failed", "Something failed on our side. Send the same request again later."):
        return told
    try:
        return render(request, "500.html", {"number": request_id.get()}, status=500)
    except Exception:
        logger.exception("The error page itself failed")
        return HttpResponse(PLAIN, status=500, content_type="text/plain")


def no_room(request: HttpRequest) -> HttpResponse:
    """Answer 507: nothing of what was sent is kept, and it can be sent again. Draws nothing that asks the database."""
    told = for_program(request, 507, "disk_full", NO_ROOM)
    return told or HttpResponse(NO_ROOM, status=507, content_type="text/plain")


def form_is_stale(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Answer a form whose page was opened before somebody signed in or out in another window."""
    return render(request, "403_stale.html", {"page": page_of(request)}, status=403)
