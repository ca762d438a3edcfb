"""Nobody learns anything of a depot that is not theirs: random people, addresses and rows, over the whole table.

A row of another depot is answered exactly like one that does not exist; lists, files, feeds and the interface for
programs hold no word of it. url_table.py gives the addresses, so a new one is held to this by itself.
"""

import re
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from types import SimpleNamespace
from typing import Any

import pytest
from django.db import transaction
from django.db.models import Value
from django.db.models.functions import Concat
from django.test import Client
from django.urls import reverse
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from checks.models import Instrument
from fleet.models import Complaint, Depot, Engine, Membership, Truck, Turbocharger, User
from fleet.services.feed import renew_feed
from tests.factories import UserFactory
from tests.house.url_table import OUTSIDER, RULES
from tests.world import make_world

pytestmark = pytest.mark.django_db

ROLES = st.sampled_from(["viewer", "technician", "manager"])
# Who belongs where: of three depots each person holds a role at some, often at none.
BELONGS = st.dictionaries(st.integers(0, 2), ROLES, max_size=2)
# Words of an address that name no row.
PLACES = {"kind", "step"}
MANY = settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))


@pytest.fixture
def worlds() -> list[SimpleNamespace]:
    """Three depots with one row of everything, each row with a word that says whose it is."""
    made = [make_world() for _ in range(3)]
    for at, world in enumerate(made):
        Depot.objects.filter(pk=world.depot.pk).update(name=f"{mark(at)} Yard", code=f"{mark(at)}")
        Truck.objects.filter(pk=world.truck.pk).update(unit_number=f"{mark(at)}-truck")
        Engine.objects.filter(pk=world.engine.pk).update(serial=f"{mark(at)}-engine")
        Turbocharger.objects.filter(pk=world.turbocharger.pk).update(serial=f"{mark(at)}-unit")
        Complaint.objects.filter(pk=world.complaint.pk).update(raised_by=f"{mark(at)} driver", text=mark(at))
        Instrument.objects.filter(depot=world.depot).update(label=Concat(Value(mark(at)), "label"))
        User.objects.filter(memberships__depot=world.depot).update(last_name=f"Of{mark(at)}")
        for name in ("depot", "truck", "engine", "turbocharger"):
            getattr(world, name).refresh_from_db()
    return made


def mark(at: int) -> str:
    return f"QX{at}VZ"


@contextmanager
def somebody(worlds: list[SimpleNamespace], belongs: dict[int, str]) -> Iterator[Client]:
    """A new person with these roles, signed in; gone afterwards with all that was written."""
    with transaction.atomic():
        user = UserFactory()
        for at, role in belongs.items():
            Membership.objects.create(user=user, depot=worlds[at].depot, role=role)
        client = Client(raise_request_exception=True)
        client.force_login(user)
        client.person = user
        yield client
        transaction.set_rollback(True)


def is_shared(name: str) -> bool:
    """Whether everybody with a role may open an address, whatever it names."""
    return OUTSIDER in RULES[name].reads | RULES[name].writes


def leading_nowhere(words: dict[str, Any]) -> dict[str, Any]:
    """The same address for rows that do not exist."""
    return {name: value if name in PLACES else nothing(value) for name, value in words.items()}


def nothing(value: Any) -> Any:
    if isinstance(value, uuid.UUID):
        return uuid.UUID(int=1)
    if isinstance(value, int):
        return 10**9
    return "999999-0000" if "-" in value else "NOWHERE"


def told(client: Client, method: str, address: str) -> tuple[int, str, str]:
    """What an answer says, without the address itself and what is new in each answer."""
    with transaction.atomic():
        answer = getattr(client, method)(address)
        transaction.set_rollback(True)
    content = b"".join(answer.streaming_content) if answer.streaming else answer.content
    text = content.decode(errors="replace").replace(address, "HERE")
    text = re.sub(r'name="csrfmiddlewaretoken" value="\w+"', "", text)
    return answer.status_code, answer.headers.get("Location", "").replace(address, "HERE"), text


def outside(belongs: dict[int, str]) -> list[int]:
    return [at for at in range(3) if at not in belongs]


# Thrown away twice is no error, and a key is 122 random bits: that one is somebody else's tells nothing.
TOLD_APART = {"checks:discard"}
NAMING_A_ROW = sorted(name for name in RULES if not is_shared(name) and name not in TOLD_APART)
FOR_ALL = sorted(name for name in RULES if OUTSIDER in RULES[name].reads)


@MANY
@given(belongs=BELONGS, name=st.sampled_from(NAMING_A_ROW), method=st.sampled_from(["get", "post"]), pick=st.data())
def test_a_row_of_another_depot_is_answered_like_none(worlds, belongs, name, method, pick) -> None:
    world = worlds[pick.draw(st.sampled_from(outside(belongs)))]
    words = RULES[name].words(world)
    with somebody(worlds, belongs) as client:
        theirs = told(client, method, reverse(name, kwargs=words))
        none = told(client, method, reverse(name, kwargs=leading_nowhere(words)))
    assert theirs == none


@MANY
@given(belongs=BELONGS, name=st.sampled_from(FOR_ALL), narrowed=st.sampled_from(["", "pk", "code"]), pick=st.data())
def test_what_everybody_may_open_holds_no_word_of_another_depot(worlds, belongs, name, narrowed, pick) -> None:
    other = worlds[pick.draw(st.sampled_from(outside(belongs)))]
    own = worlds[next(iter(belongs), 0)]
    address = reverse(name, kwargs=RULES[name].words(pick.draw(st.sampled_from([own, other]))))
    # A filter that names the other depot must not open it either; its code as typed would come back, so it is left out.
    if narrowed:
        address += f"?depot={getattr(other.depot, narrowed)}"
    with somebody(worlds, belongs) as client:
        _, _, text = told(client, "get", address)
    text = text.replace(f"?depot={other.depot.code}", "").replace(f"depot={other.depot.code}", "")
    assert [mark(at) for at in outside(belongs) if mark(at) in text] == []


@settings(MANY, max_examples=10)
@given(belongs=BELONGS)
@example(belongs={0: "manager", 1: "viewer"})
def test_a_calendar_holds_no_word_of_another_depot(worlds, belongs) -> None:
    with somebody(worlds, belongs) as client:
        answer = Client().get(reverse("reports:calendar", args=[renew_feed(user=client.person)]))
        text = answer.content.decode()
    assert [mark(at) for at in outside(belongs) if mark(at) in text] == []


def test_every_row_of_another_depot_is_answered_like_none(worlds) -> None:
    """Each address once, whatever the draws above left out."""
    differing = []
    with somebody(worlds, {0: "manager"}) as client:
        for name in NAMING_A_ROW:
            words = RULES[name].words(worlds[1])
            for method in ("get", "post"):
                theirs = told(client, method, reverse(name, kwargs=words))
                if theirs != told(client, method, reverse(name, kwargs=leading_nowhere(words))):
                    differing.append(f"{method} {name}")
    assert differing == []


def test_the_words_looked_for_are_there_for_those_of_the_depot(worlds) -> None:
    """Else the tests above would find nothing whatever the pages say."""
    with somebody(worlds, {1: "viewer"}) as client:
        for name in ("fleet:trucks", "fleet:turbochargers", "api-trucks", "reports:board"):
            _, _, text = told(client, "get", reverse(name))
            assert mark(1) in text, name
