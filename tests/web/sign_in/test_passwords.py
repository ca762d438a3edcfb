"""Passwords that change, end what else is open, and are not those that everybody would try first."""

import pytest
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from fleet.models import Depot, User
from fleet.selectors.token import live_tokens
from fleet.services.token import make_token, revoke_token
from tests.factories import UserFactory
from tests.web.sign_in.signing_in import PASSWORD, first_step, is_in

pytestmark = pytest.mark.django_db


def test_a_new_password_ends_the_other_sessions(sedge: User) -> None:
    here, elsewhere = Client(), Client()
    first_step(here)
    first_step(elsewhere)
    typed = {"old": PASSWORD, "new": "another-lantern-48", "again": "another-lantern-48"}
    assert here.post(reverse("fleet:password"), typed).status_code == 302
    assert is_in(here)
    assert not is_in(elsewhere)
    assert first_step(Client()).status_code == 200


@pytest.mark.parametrize(("ticked", "live"), [({}, 2), ({"tokens": "on"}, 0)])
def test_a_new_password_ends_tokens_where_one_asks_for_it(client: Client, sedge: User, ticked, live) -> None:
    for name in ("feed", "export"):
        make_token(user=sedge, name=name, scopes=["trips:write"], days=30)
    revoke_token(user=sedge, token=make_token(user=sedge, name="old", scopes=["trips:read"], days=30)[0])
    other = make_token(user=UserFactory(), name="feed", scopes=["trips:write"], days=30)[0]
    client.force_login(sedge)
    assert "You have 2 in use" in client.get(reverse("fleet:password")).content.decode()
    typed = {"old": PASSWORD, "new": "another-lantern-48", "again": "another-lantern-48"} | ticked
    assert client.post(reverse("fleet:password"), typed).status_code == 302
    assert live_tokens(sedge).count() == live
    other.refresh_from_db()
    assert other.revoked_at is None


def test_who_has_no_token_is_not_asked_about_them(client: Client, sedge: User) -> None:
    client.force_login(sedge)
    assert "tokens for programs" not in client.get(reverse("fleet:password")).content.decode()


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"old": "guess", "new": "another-lantern-48"}, "not your present password"),
        ({"old": PASSWORD, "new": "tern-4"}, "at least 12"),
        ({"old": PASSWORD, "new": PASSWORD}, "Choose another one"),
        ({"old": PASSWORD, "new": "another-lantern-48", "again": "another-lantern-49"}, "two new passwords differ"),
    ],
)
def test_a_password_that_will_not_do_is_refused_beside_its_field(client: Client, sedge: User, typed, sentence) -> None:
    client.force_login(sedge)
    answer = client.post(reverse("fleet:password"), {"again": typed["new"]} | typed)
    assert sentence in answer.content.decode()
    assert typed["new"] not in answer.content.decode()
    assert User.objects.get(pk=sedge.pk).check_password(PASSWORD)


@pytest.mark.parametrize(
    "password", ["password1234", "Wastegate-Register-2026", "turbo-depot-turbo", "Saltmarsh-12345"]
)
def test_what_everybody_would_try_first_is_no_password(sedge: User, password: str) -> None:
    Depot.objects.update(name="Saltmarsh")
    with pytest.raises(ValidationError):
        validate_password(password, sedge)


@pytest.mark.parametrize("password", [PASSWORD, "the-turbo-heron-sleeps", "x" * 8 + "-saltmarsh"])
def test_words_of_this_place_may_stand_among_others(sedge: User, password: str) -> None:
    Depot.objects.update(name="Saltmarsh")
    validate_password(password, sedge)
