"""The interface for programs as OpenAPI describes it: what every operation shares is said here once."""

from typing import Any

from drf_spectacular.openapi import AutoSchema

from fleet.web.examples import BODIES
from fleet.web.idempotency import HEADER, REPEATED
from fleet.web.problem_details import CONTENT_TYPE

WRITES = {"POST", "PATCH", "PUT", "DELETE"}
KEY = {
    "in": "header",
    "name": HEADER,
    "required": True,
    "schema": {"type": "string", "format": "uuid"},
    "description": "A UUID of your own for each write; sent again with the same content it repeats the answer.",
}
PROBLEMS = {
    "400": "Something sent is wrong; `errors` names each field with a code and a sentence.",
    "401": "Nobody is named, or the token opens nothing.",
    "403": "The person's role or the token's scopes do not cover this.",
    "404": "There is no such thing at the person's depots.",
    "406": "Answers are JSON.",
    "429": "Too many requests; the header Retry-After says in how many seconds to come again.",
}
PROBLEMS_OF_WRITES = {
    "409": "What is on record stands against it, or the key was used for something else.",
    "413": "Too much at once.",
    "415": "Send JSON.",
}
TEXT = {"type": "string"}
PROBLEM = {
    "type": "object",
    "description": "A problem document (RFC 9457).",
    "required": ["type", "title", "status", "code"],
    "properties": {
        "type": {"type": "string", "format": "uri", "examples": ["urn:problem:invalid"]},
        "title": TEXT,
        "status": {"type": "integer"},
        "code": {"type": "string", "description": "Stable, for programs."},
        "errors": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["field", "code", "sentence"],
                "properties": {"field": TEXT, "code": TEXT, "sentence": TEXT},
            },
        },
    },
}


class Described(AutoSchema):
    """An operation with its scope, its key and the problems it may be answered with."""

    def get_operation(self, *arguments: Any, **options: Any) -> dict[str, Any] | None:
        """Describe one operation."""
        operation: dict[str, Any] | None = super().get_operation(*arguments, **options)
        if operation is None:
            return None
        writes = self.method in WRITES
        if area := getattr(self.view, "scope", ""):
            scope = f"{area}:{'write' if writes else 'read'}"
            operation["description"] = f"{operation.get('description', '')}\n\nScope of a token: `{scope}`.".strip()
            operation["tags"] = [area]
        if writes:
            _name_key(operation)
            _show_example(operation)
        for status in [*PROBLEMS, *(PROBLEMS_OF_WRITES if writes else ())]:
            operation["responses"].setdefault(status, {"$ref": f"#/components/responses/Problem{status}"})
        return operation


def add_problems(result: dict[str, Any], **options: Any) -> dict[str, Any]:
    """Add the shared answers to the finished description; drf-spectacular calls it last."""
    result["components"].setdefault("schemas", {})["Problem"] = PROBLEM
    result["components"]["responses"] = {
        f"Problem{status}": _problem(status, words) for status, words in (PROBLEMS | PROBLEMS_OF_WRITES).items()
    }
    return result


def _name_key(operation: dict[str, Any]) -> None:
    parameters = operation.setdefault("parameters", [])
    if not any(parameter["name"] == HEADER for parameter in parameters):
        parameters.append(KEY)
    told = {"schema": {"type": "string", "enum": ["true"]}, "description": "The answer of the first time."}
    for status, response in operation["responses"].items():
        if status.startswith("2"):
            response.setdefault("headers", {})[REPEATED] = told


def _show_example(operation: dict[str, Any]) -> None:
    example = BODIES.get(operation["operationId"])
    if example is not None:
        for media in operation["requestBody"]["content"].values():
            media["example"] = example


def _problem(status: str, words: str) -> dict[str, Any]:
    body = {CONTENT_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}}
    answer: dict[str, Any] = {"description": words, "content": body}
    if status == "429":
        answer["headers"] = {"Retry-After": {"schema": {"type": "integer"}, "description": "Seconds."}}
    if status == "401":
        answer["headers"] = {"WWW-Authenticate": {"schema": TEXT, "description": "How to come in."}}
    return answer
