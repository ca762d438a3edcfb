"""Every operation of the interface for programs, sent what its description allows and what it forbids.

Judged by schemathesis with all its checks against OpenAPI: no failure of ours, statuses, types, headers and bodies as
described, wrong entries refused, no way in without a token. One is told more than it can know: what fits the shape may
still stand against the register (a truck that is not there), so that 400 is an answer to it.

A longer run against a server: `schemathesis run http://.../api/v1/schema/ --checks all`, with the same setting.
"""

import re
from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
from django.core.signals import request_finished, request_started
from django.core.wsgi import get_wsgi_application
from django.db import close_old_connections
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis.strategies import SearchStrategy
from schemathesis import GenerationMode
from schemathesis.config import SchemathesisConfig

from fleet.selectors.token import AREAS, SCOPES
from fleet.services.token import make_token
from tests.world import make_world

pytestmark = pytest.mark.django_db
JUDGED = {
    "checks": {"positive_data_acceptance": {"expected-statuses": ["2xx", 400, 401, 403, 404, 409]}},
    # A wrong row of a batch is refused by itself, with its reason, in an answer that takes the others.
    "operations": [
        {"include-name": "POST /api/v1/trips/batches/", "checks": {"negative_data_rejection": {"enabled": False}}}
    ],
}
EXAMPLES = 4
# Which row of the world an address is asked for, so that answers about rows are judged too.
ROWS = {
    "depots": "depot", "trucks": "truck", "engines": "engine", "turbochargers": "turbocharger",
    "turbocharger-models": "model", "specifications": "specification", "instruments": "dial", "checks": "check",
    "complaints": "complaint", "recalls": "recall", "reviews": "review", "studies": "study",
    "plans": "turbocharger", "forecasts": "turbocharger", "trips": "trips_tried",
}  # fmt: skip


@pytest.fixture
def kept_open(db: None) -> Iterator[None]:
    """The connection that holds the test's transaction; a server would close it after each request."""
    for signal in (request_started, request_finished):
        signal.disconnect(close_old_connections)
    yield
    for signal in (request_started, request_finished):
        signal.connect(close_old_connections)


@pytest.fixture
def operations(kept_open: None) -> dict[str, list[Any]]:
    """Every operation by its area, sent in the name of a manager whose depot holds one of everything."""
    world = make_world()
    _, secret = make_token(user=world.manager, name="contract", scopes=list(SCOPES), days=1)
    entry = {"Authorization": f"Bearer {secret}"}
    schema = schemathesis.openapi.from_wsgi(
        "/api/v1/schema/?format=json",
        get_wsgi_application(),
        headers=entry,
        config=SchemathesisConfig.from_dict(JUDGED),
    )
    by_area: dict[str, list[Any]] = {area: [] for area in AREAS}
    for found in schema.get_all_operations():
        operation = found.ok()
        row = getattr(world, ROWS.get(operation.path.split("/")[3], ""), None)
        named = re.search(r"{(\w+)}", operation.path)
        place = {named[1]: str(row.pk)} if row and named else {}
        by_area[operation.tags[0]].append((operation, entry, place))
    return by_area


@pytest.mark.parametrize("area", sorted(AREAS))
def test_an_area_keeps_to_its_description(area: str, operations: dict[str, list[Any]]) -> None:
    assert operations[area]
    for operation, entry, place in operations[area]:
        keeps_to_it(operation.as_strategy(GenerationMode.POSITIVE, path_parameters=place or None), entry)
        keeps_to_it(operation.as_strategy(GenerationMode.NEGATIVE), entry)


def keeps_to_it(cases: SearchStrategy[Any], entry: dict[str, str]) -> None:
    """Send some requests of one kind."""

    @settings(
        max_examples=EXAMPLES, deadline=None, database=None, derandomize=True,
        suppress_health_check=list(HealthCheck), phases=[Phase.generate],
    )  # fmt: skip
    @given(case=cases)
    def holds(case: Any) -> None:
        case.call_and_validate(headers=entry)

    holds()


def test_the_description_reaches_programs_as_it_is_tested(operations: dict[str, list[Any]]) -> None:
    named = [operation.label for found in operations.values() for operation, *_ in found]
    assert len(named) == len(set(named)) > 60
