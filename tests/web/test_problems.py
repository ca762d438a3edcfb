"""Whatever goes wrong, a program is told in a problem document (RFC 9457, section 3)."""

import json
from uuid import uuid4

import pytest
from django.core.cache import cache
from django.test import Client
from redis.exceptions import ConnectionError as RedisConnectionError

from fleet.services.token import make_token
from tests.bay import person
from tests.factories import DepotFactory

pytestmark = pytest.mark.django_db
TRUCKS = "/api/v1/trucks/"
KEY = {"Idempotency-Key": str(uuid4())}


@pytest.fixture
def manager():
    return person(DepotFactory(), "manager")


def told(answer, status, code):
    assert (answer.status_code, answer.headers["Content-Type"]) == (status, "application/problem+json")
    body = answer.json()
    assert {"type": f"urn:problem:{code}", "status": status, "code": code}.items() <= body.items()
    assert body["title"]
    return body


def test_an_address_that_does_not_exist(client) -> None:
    told(client.get("/api/v1/nothing/"), 404, "not_found")


def test_a_row_that_does_not_exist(signed_in, manager) -> None:
    told(signed_in(manager).get(f"{TRUCKS}999999999999999999999999/"), 404, "not_found")


def test_a_method_that_is_not_there(signed_in, manager) -> None:
    told(signed_in(manager).delete(TRUCKS), 405, "method_not_allowed")


def test_a_body_that_is_no_json(signed_in, manager) -> None:
    told(signed_in(manager).post(TRUCKS, {"depot": 1}, headers=KEY), 415, "unsupported_media_type")
    cut = signed_in(manager).post(TRUCKS, '{"depot": 1', content_type="application/json", headers=KEY)
    told(cut, 400, "parse_error")


@pytest.mark.parametrize("body", ["[" * 100_000, '{"a":' * 100_000])
def test_a_body_without_end(signed_in, manager, body) -> None:
    answer = signed_in(manager).post(TRUCKS, body, content_type="application/json", headers=KEY)
    told(answer, 400, "parse_error")


def test_a_body_that_is_too_long(signed_in, manager, settings) -> None:
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 2**20
    body = json.dumps({"description": "x" * 2**20})
    told(signed_in(manager).post(TRUCKS, body, content_type="application/json", headers=KEY), 413, "body_too_long")


def test_an_answer_that_cannot_be_given(signed_in, manager) -> None:
    told(signed_in(manager).get(TRUCKS, headers={"Accept": "text/html"}), 406, "not_acceptable")


def test_a_failure_of_ours_says_nothing_of_its_cause(signed_in, manager, monkeypatch) -> None:
    def fail(*arguments, **options):
        raise RuntimeError("a secret of the database")

    monkeypatch.setattr("fleet.api.base.visible_to", fail)
    client = signed_in(manager)
    client.raise_request_exception = False
    answer = client.get(TRUCKS)
    told(answer, 500, "failed")
    assert "secret" not in answer.content.decode()


@pytest.mark.parametrize(
    ("query", "field"),
    [
        ("page_size=many", "page_size"),
        ("page_size=0", "page_size"),
        ("page_size=" + "9" * 5000, "page_size"),
        ("retired=perhaps", "retired"),
        ("retired=true&retired=false", "retired"),
        ("retired=", "retired"),
    ],
)
def test_a_filter_that_says_nothing_is_refused_by_name(signed_in, manager, query, field) -> None:
    body = signed_in(manager).get(f"{TRUCKS}?{query}").json()
    assert (body["status"], body["errors"][0]["field"]) == (400, field)


@pytest.mark.parametrize(("name", "value"), [("depot", "1"), ("depot", True), ("unit_number", 114)])
def test_a_value_of_another_type_is_refused(signed_in, manager, name, value) -> None:
    depot = manager.memberships.get().depot
    body = {"depot": depot.pk, "unit_number": "114", "in_service_on": "2022-01-01", name: value}
    answer = signed_in(manager).post(TRUCKS, body, content_type="application/json", headers=KEY)
    assert [error["field"] for error in told(answer, 400, "invalid")["errors"]] == [name]


@pytest.fixture
def counted(settings):
    """Few requests a minute, counted from nothing."""
    settings.API_RATE, settings.API_RATE_STRANGERS = 3, 2
    cache.clear()
    yield
    cache.clear()


def test_too_many_requests_of_one_token_are_put_off_and_another_goes_on(manager, counted) -> None:
    first, second = (
        Client(
            headers={"Authorization": f"Bearer {make_token(user=manager, name=n, scopes=['register:read'], days=1)[1]}"}
        )
        for n in "ab"
    )
    assert [first.get(TRUCKS).status_code for _ in range(4)] == [200, 200, 200, 429]
    late = first.get(TRUCKS)
    told(late, 429, "throttled")
    assert 0 < int(late.headers["Retry-After"]) <= 60
    assert second.get(TRUCKS).status_code == 200


def test_strangers_and_wrong_tokens_are_counted_by_address(counted) -> None:
    wrong = {"Authorization": "Bearer wgr_guess"}
    assert [Client().get(TRUCKS, headers=wrong).status_code for _ in range(3)] == [401, 401, 429]
    forged = {**wrong, "X-Forwarded-For": "203.0.113.9"}  # an address of RFC 5737, for documents
    assert Client().get(TRUCKS, headers=forged).status_code == 429
    assert Client().get(TRUCKS, headers=wrong, REMOTE_ADDR="198.51.100.7").status_code == 401


def test_requests_go_on_where_they_cannot_be_counted(signed_in, manager, counted, monkeypatch) -> None:
    class Away:
        def get(self, *arguments):
            raise RedisConnectionError("no answer")

    monkeypatch.setattr("rest_framework.throttling.SimpleRateThrottle.cache", Away())
    client = signed_in(manager)
    assert [client.get(TRUCKS).status_code for _ in range(5)] == [200] * 5
