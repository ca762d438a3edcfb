"""The description of the interface for programs: whole, valid, with examples that fit."""

import json
from typing import Any

import jsonschema_rs
import pytest
from django.core.management import call_command
from django.urls import URLPattern, URLResolver, get_resolver
from drf_spectacular.generators import SchemaGenerator

from fleet.selectors.token import AREAS
from fleet.web.examples import BODIES

WRITES = {"post", "patch", "put", "delete"}


@pytest.fixture(scope="module")
def described() -> dict[str, Any]:
    """The description as programs get it."""
    whole: dict[str, Any] = json.loads(json.dumps(SchemaGenerator().get_schema(request=None, public=True), default=str))
    return whole


def operations(described: dict[str, Any]) -> list[tuple[str, dict[str, Any]]]:
    return [(method, one) for path in described["paths"].values() for method, one in path.items()]


def views(resolver: URLResolver) -> list[Any]:
    """Every view of the interface for programs."""
    found = []
    for entry in resolver.url_patterns:
        if isinstance(entry, URLResolver):
            found += views(entry) if entry.namespace is None else []
        elif isinstance(entry, URLPattern) and str(entry.name).startswith("api-") and entry.name != "api-schema":
            found.append(entry.callback.view_class)
    return found


def test_the_description_is_valid_and_draws_no_warning(tmp_path) -> None:
    """Against the schema of OpenAPI 3.1 that comes with drf-spectacular; the command fails on any warning."""
    call_command("spectacular", "--validate", "--fail-on-warn", "--file", str(tmp_path / "schema.yaml"))
    assert (tmp_path / "schema.yaml").read_text().startswith("openapi: 3.1")


def test_every_view_says_which_scope_opens_it() -> None:
    found = views(get_resolver())
    assert len(found) > 40
    assert [view.__name__ for view in found if getattr(view, "scope", "") not in AREAS] == []


def test_every_write_asks_for_a_key_and_tells_its_problems(described) -> None:
    writes = [one for method, one in operations(described) if method in WRITES]
    assert len(writes) > 25
    for one in writes:
        assert "Idempotency-Key" in {parameter["name"] for parameter in one["parameters"]}, one["operationId"]
        assert {"400", "401", "403", "404", "409", "413", "415", "429"} <= set(one["responses"])


def test_every_write_has_an_example_that_fits_its_shape(described) -> None:
    """Judged by jsonschema-rs, JSON Schema draft 2020-12 as OpenAPI 3.1 asks."""
    bodies = {
        one["operationId"]: one["requestBody"]["content"]["application/json"]
        for method, one in operations(described)
        if method in WRITES
    }
    assert set(bodies) == set(BODIES)
    for name, body in bodies.items():
        shape = {"components": described["components"], **body["schema"]}
        checker = jsonschema_rs.validator_for(shape, validate_formats=True)
        assert [error.message for error in checker.iter_errors(body["example"])] == [], name


def test_lists_come_in_pages(described) -> None:
    for method, one in operations(described):
        if method == "get" and one["operationId"].endswith("_list"):
            named = {parameter["name"] for parameter in one["parameters"]}
            assert named & {"cursor", "after"}, one["operationId"]
            assert "page_size" in named, one["operationId"]
