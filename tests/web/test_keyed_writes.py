"""A program may send a write again: it is done once and answered alike."""

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import connections
from django.test import Client
from django.utils import timezone

from fleet.models import KeyedRequest, Truck
from fleet.services.keyed import KEPT_DAYS, clear_old_answers
from fleet.services.token import make_token
from tests.bay import person
from tests.factories import DepotFactory, TruckFactory

TRUCKS = "/api/v1/trucks/"


@pytest.fixture
def depot(db):
    return DepotFactory()


@pytest.fixture
def manager(depot):
    return person(depot, "manager")


def truck(depot, **changes):
    return {"depot": depot.pk, "unit_number": "114", "in_service_on": "2022-01-01"} | changes


def send(client, body, key, address=TRUCKS, method="post"):
    headers = {"Idempotency-Key": str(key)} if key else {}
    return getattr(client, method)(address, body, content_type="application/json", headers=headers)


def test_the_same_key_adds_once_and_repeats_the_answer(depot, manager, signed_in) -> None:
    client, key = signed_in(manager), uuid4()
    first, again = (send(client, truck(depot), key) for _ in range(2))
    assert (first.status_code, again.status_code) == (201, 201)
    assert again.json() == first.json()
    assert ("Idempotency-Repeated" in first.headers, again.headers["Idempotency-Repeated"]) == (False, "true")
    assert Truck.objects.count() == 1


def test_a_key_used_for_something_else_is_refused(depot, manager, signed_in) -> None:
    client, key = signed_in(manager), uuid4()
    assert send(client, truck(depot), key).status_code == 201
    answer = send(client, truck(depot, unit_number="115"), key)
    assert (answer.status_code, answer.json()["code"]) == (409, "key_used_otherwise")
    assert Truck.objects.count() == 1


def test_a_refused_write_leaves_its_key_free(depot, manager, signed_in) -> None:
    client, key = signed_in(manager), uuid4()
    assert send(client, truck(depot, vin="short"), key).status_code == 400
    assert not KeyedRequest.objects.exists()
    assert send(client, truck(depot), key).status_code == 201


def test_keys_of_two_people_are_two_keys(depot, manager, signed_in) -> None:
    key = uuid4()
    assert send(signed_in(manager), truck(depot), key).status_code == 201
    assert send(signed_in(person(depot, "manager")), truck(depot, unit_number="115"), key).status_code == 201


@pytest.mark.parametrize("key", [None, "seven"])
def test_a_write_without_a_good_key_is_refused(depot, manager, signed_in, key) -> None:
    answer = send(signed_in(manager), truck(depot), key)
    assert (answer.status_code, answer.json()["code"].startswith("idempotency_key")) == (400, True)
    assert not Truck.objects.exists()


def test_a_correction_is_repeated_too(depot, manager, signed_in) -> None:
    row, key = TruckFactory(depot=depot, description=""), uuid4()
    address = f"{TRUCKS}{row.pk}/"
    first = send(signed_in(manager), {"description": "tanker"}, key, address, "patch")
    Truck.objects.update(description="tipper")
    again = send(signed_in(manager), {"description": "tanker"}, key, address, "patch")
    assert again.json() == first.json()
    assert Truck.objects.get().description == "tipper"


def test_the_answer_is_not_repeated_to_whoever_may_not_write_any_more(depot, manager, signed_in) -> None:
    key = uuid4()
    send(signed_in(manager), truck(depot), key)
    manager.memberships.update(role="viewer")
    assert send(signed_in(manager), truck(depot), key).status_code == 403


def test_old_answers_are_forgotten(depot, manager, signed_in) -> None:
    send(signed_in(manager), truck(depot), uuid4())
    assert clear_old_answers() == 0
    KeyedRequest.objects.update(made_at=timezone.now() - timedelta(days=KEPT_DAYS, minutes=1))
    assert clear_old_answers() == 1


@pytest.mark.django_db(transaction=True)
def test_requests_at_the_same_moment_add_once() -> None:
    """On SQLite the second waits for the first's lock, on PostgreSQL for its row."""
    depot = DepotFactory()
    _, secret = make_token(user=person(depot, "manager"), name="x", scopes=["register:write"], days=1)
    key, body = uuid4(), truck(depot)

    def once(_: int) -> tuple[int, int]:
        try:
            answer = send(Client(headers={"Authorization": f"Bearer {secret}"}), body, key)
            return answer.status_code, answer.json()["id"]
        finally:
            connections.close_all()

    with ThreadPoolExecutor(4) as pool:
        answers = list(pool.map(once, range(4)))
    assert len(set(answers)) == 1, answers
    assert answers[0][0] == 201
    assert Truck.objects.count() == 1
