"""Every address of the project, for every kind of person, against the table in url_table.py."""

from collections.abc import Iterator
from copy import deepcopy
from http.cookies import SimpleCookie
from types import SimpleNamespace
from typing import Any

import pytest
from django.db import connection, transaction
from django.http import HttpResponse
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from tests.house.url_table import EVERYONE, FOR_SCRIPTS, OPEN, RULES
from tests.world import make_world

pytestmark = pytest.mark.django_db

REFUSED = {403, 404}


def names(resolver: URLResolver, space: str = "") -> Iterator[str]:
    """Yield the full name of every address but those of the framework's administration."""
    for entry in resolver.url_patterns:
        if isinstance(entry, URLPattern):
            yield f"{space}{entry.name}"
        elif entry.namespace != "admin":
            yield from names(entry, f"{space}{entry.namespace}:" if entry.namespace else space)


@pytest.fixture(scope="module")
def made(kept: None) -> SimpleNamespace:
    """One world for all addresses, in which everybody is signed in."""
    world = make_world()
    for who in EVERYONE.union(*(rule.reads | rule.writes for rule in RULES.values())):
        signed_in(getattr(world, who))
    return world


@pytest.fixture
def world(made: SimpleNamespace) -> SimpleNamespace:
    """The same with rows of its own, so that none is changed for the next test."""
    return deepcopy(made)


def ask(user: Any, method: str, address: str) -> HttpResponse:
    """Send one request and take back whatever it wrote."""
    client = Client()
    if user is not None:
        client.cookies = signed_in(user)
    with transaction.atomic():
        answer = getattr(client, method)(address)
        transaction.set_rollback(True)
    return answer


def signed_in(user: Any) -> SimpleCookie:
    """Return the cookies of a session of `user`, made once for each person."""
    if not hasattr(user, "test_cookies"):
        client = Client()
        client.force_login(user)
        user.test_cookies = client.cookies
    return user.test_cookies


def test_every_address_is_in_the_table() -> None:
    assert sorted(set(names(get_resolver())) - OPEN) == sorted(RULES)


@pytest.mark.parametrize("name", sorted(RULES))
def test_an_address_opens_for_those_in_the_table_alone(name: str, world: SimpleNamespace, no_writes) -> None:
    rule = RULES[name]
    address = reverse(name, kwargs=rule.words(world))
    for who in sorted(EVERYONE | rule.reads):
        signed_in(getattr(world, who))
        with no_writes():
            read = ask(getattr(world, who), "get", address).status_code
        expected = {200, 302} if who in rule.reads else REFUSED | ({405} if not rule.reads else set())
        assert read in expected, f"GET {address} as {who}: {read}"
    refuse_nobody(name, "get", address)


@pytest.mark.parametrize("name", sorted(RULES))
def test_an_address_takes_entries_from_those_in_the_table_alone(name: str, world: SimpleNamespace) -> None:
    rule = RULES[name]
    address = reverse(name, kwargs=rule.words(world))
    for who in sorted(EVERYONE | rule.writes):
        wrote = ask(getattr(world, who), "post", address).status_code
        taken = (
            {200, 302, 400, 409, 415, 422} if who in rule.writes else REFUSED | ({405} if not rule.writes else set())
        )
        assert wrote in taken, f"POST {address} as {who}: {wrote}"
    refuse_nobody(name, "post", address)


def refuse_nobody(name: str, method: str, address: str) -> None:
    """Assert that whoever is not signed in is sent to the sign-in, and a program is told so."""
    answer = ask(None, method, address)
    if name.startswith("api-") or name in FOR_SCRIPTS:
        assert answer.status_code in {401, 403}
    else:
        assert (answer.status_code, answer.headers["Location"].partition("?")[0]) == (302, reverse("login"))


def test_the_administration_is_for_administrators(world: SimpleNamespace) -> None:
    assert ask(world.manager, "get", reverse("admin:index")).status_code == 302
    world.manager.is_staff = world.manager.is_superuser = True
    world.manager.save()
    assert ask(world.manager, "get", reverse("admin:index")).status_code == 200


def test_the_refusal_of_writes_works(no_writes) -> None:
    with no_writes(), pytest.raises(AssertionError, match="A read wrote"), connection.cursor() as cursor:
        cursor.execute("DELETE FROM fleet_depot")
