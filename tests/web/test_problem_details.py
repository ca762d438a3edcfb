"""Errors for programs: RFC 9457 (type, title, status; media type application/problem+json; extensions allowed)."""

from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.http import Http404
from rest_framework import exceptions, serializers

from fleet.problems import FleetError, FleetErrors
from fleet.web.problem_details import answer_with_problem


def answer(error: Exception) -> Any:
    found = answer_with_problem(error, {})
    assert found is not None
    assert found.content_type == "application/problem+json"
    assert found.data["status"] == found.status_code
    assert set(found.data) >= {"type", "title", "status"}
    return found


def test_our_own_error_keeps_its_code_field_and_sentence() -> None:
    found = answer(FleetError("already_fitted", "turbocharger", "It is fitted to unit 114.", 409))
    assert (found.status_code, found.data["title"]) == (409, "It is fitted to unit 114.")
    assert found.data["errors"] == [
        {"field": "turbocharger", "code": "already_fitted", "sentence": "It is fitted to unit 114."}
    ]


def test_several_errors_are_all_listed() -> None:
    found = answer(FleetErrors((FleetError("a", "one", "First."), FleetError("b", "two", "Second."))))
    assert [error["field"] for error in found.data["errors"]] == ["one", "two"]


def test_a_nested_field_is_named_by_its_path() -> None:
    class Reading(serializers.Serializer):
        travel_mm = serializers.FloatField(max_value=100)

    class Check(serializers.Serializer):
        note = serializers.CharField()
        readings = Reading(many=True)

    check = Check(data={"readings": [{"travel_mm": 1}, {"travel_mm": 1e9}]})
    with pytest.raises(exceptions.ValidationError) as refusal:
        check.is_valid(raise_exception=True)
    errors = {error["field"]: error["code"] for error in answer(refusal.value).data["errors"]}
    assert errors == {"note": "required", "readings[1].travel_mm": "max_value"}


@pytest.mark.parametrize(
    ("error", "status", "code"),
    [
        (Http404(), 404, "not_found"),
        (exceptions.NotAuthenticated(), 401, "not_authenticated"),
        (exceptions.PermissionDenied(), 403, "permission_denied"),
        (exceptions.MethodNotAllowed("PUT"), 405, "method_not_allowed"),
        (exceptions.Throttled(), 429, "throttled"),
        (ValidationError("Give the odometer."), 400, "invalid"),
        (ValidationError({"vin": ["Too short."]}), 400, "invalid"),
    ],
)
def test_an_error_of_the_framework_takes_the_same_form(error: Exception, status: int, code: str) -> None:
    found = answer(error)
    assert (found.status_code, found.data["code"]) == (status, code)


def test_a_bug_is_left_to_the_error_page() -> None:
    assert answer_with_problem(ZeroDivisionError(), {}) is None
