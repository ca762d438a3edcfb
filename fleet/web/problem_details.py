"""Errors of the interface for programs, in the form of RFC 9457."""

from typing import Any

from django.core.exceptions import ValidationError
from django.http import Http404
from rest_framework import exceptions
from rest_framework.response import Response
from rest_framework.views import exception_handler

from fleet.problems import FleetError, each_error

CONTENT_TYPE = "application/problem+json"


def problem(*, status: int, code: str, title: str, errors: list[dict[str, str]] | None = None) -> dict[str, Any]:
    """Return one problem document; `errors` lists field, code and sentence of each wrong input."""
    body: dict[str, Any] = {"type": f"urn:problem:{code}", "title": title, "status": status, "code": code}
    return body | {"errors": errors} if errors else body


def problem_of(error: FleetError) -> dict[str, Any]:
    """The problem document of a refusal, with each wrong input."""
    wrong = [{"field": one.field, "code": one.code, "sentence": one.sentence} for one in each_error(error)]
    return problem(status=error.status, code=error.code, title=error.sentence, errors=wrong)


def answer_with_problem(error: Exception, context: dict[str, Any]) -> Response | None:
    """Answer any expected error as a problem document; DRF calls it for every exception of a view."""
    if isinstance(error, FleetError):
        return Response(problem_of(error), status=error.status, content_type=CONTENT_TYPE)
    if isinstance(error, ValidationError):
        error = exceptions.ValidationError(error.message_dict if hasattr(error, "error_dict") else error.messages)
    answer = exception_handler(error, context)
    if answer is None:
        return None
    answer.data = _from_framework(error, answer)
    answer.content_type = CONTENT_TYPE
    return answer


def _from_framework(error: Exception, answer: Response) -> dict[str, Any]:
    if isinstance(error, exceptions.ValidationError):
        title = "Some of what was sent cannot be accepted; each error names its field."
        return problem(status=400, code="invalid", title=title, errors=list(_flatten(error.get_full_details())))
    code = "not_found" if isinstance(error, Http404) else str(getattr(error, "default_code", "error"))
    return problem(status=answer.status_code, code=code, title=str(answer.data.get("detail", error)))


def _flatten(details: Any, path: str = "") -> list[dict[str, str]]:
    if isinstance(details, dict) and set(details) == {"message", "code"}:
        return [{"field": path, "code": str(details["code"]), "sentence": str(details["message"])}]
    if isinstance(details, dict):
        return [row for key, value in details.items() for row in _flatten(value, _below(path, key))]
    if all(isinstance(value, dict) and set(value) == {"message", "code"} for value in details):
        return [row for value in details for row in _flatten(value, path)]
    return [row for index, value in enumerate(details) for row in _flatten(value, _below(path, index)) if row]


def _below(path: str, key: str | int) -> str:
    return f"{path}[{key}]" if isinstance(key, int) else f"{path}.{key}".strip(".")
