"""Sign-ins: each takes a new session, which ends with the shift or where its owner says so."""

import time

import pytest
from django.contrib.sessions.models import Session
from django.test import Client
from django.urls import reverse

from fleet.models import User
from fleet.services.sign_in import end_other_sessions, end_second_factor
from fleet.web import sessions
from fleet.web.address import address_of
from tests.web.sign_in.signing_in import first_step, is_in

pytestmark = pytest.mark.django_db


def test_a_password_alone_signs_in_who_has_no_second_factor(client: Client, sedge: User) -> None:
    first_step(client)
    assert is_in(client)


def test_who_is_no_administrator_is_told_so_without_a_circle(client: Client, sedge: User) -> None:
    client.force_login(sedge)
    assert client.get(reverse("admin:index"), follow=True).status_code == 403


def test_a_sign_in_takes_a_new_session(client: Client, sedge: User) -> None:
    client.get(reverse("login"))
    planted = client.session
    planted["planted"] = True
    planted.save()
    before = client.session.session_key
    client.cookies["sessionid"] = before
    first_step(client)
    assert client.session.session_key != before
    assert not Session.objects.filter(session_key=before).exists()


def test_one_can_sign_out_everywhere_else(sedge: User) -> None:
    here, elsewhere = Client(), Client()
    first_step(here)
    first_step(elsewhere)
    here.post(reverse("fleet:sessions_end"))
    assert is_in(here)
    assert not is_in(elsewhere)


@pytest.mark.parametrize("change", [end_other_sessions, end_second_factor])
def test_a_series_that_ended_counts_no_more(guarded, change) -> None:
    user, codes = guarded
    client = Client()
    first_step(client)
    client.post(reverse("second_step"), {"code": codes[0]})
    assert is_in(client)
    change(user=user)
    assert not is_in(client)


@pytest.mark.parametrize(
    ("hours", "asked_each_h", "still"), [(7, 7, True), (9, 9, False), (11, 1, True), (13, 1, False)]
)
def test_a_sign_in_ends_with_the_shift_or_when_it_rests(
    client: Client, sedge: User, monkeypatch, hours: int, asked_each_h: int, still: bool
) -> None:
    first_step(client)
    begun = time.time()
    for hour in range(asked_each_h, hours + 1, asked_each_h):
        monkeypatch.setattr(sessions.time, "time", lambda hour=hour: begun + hour * 3600)
        last = is_in(client)
    assert last is still


@pytest.mark.parametrize(
    ("proxies", "claimed", "address"),
    [(0, "203.0.113.9", "127.0.0.1"), (1, "203.0.113.9, 198.51.100.7", "198.51.100.7"), (1, "", "127.0.0.1")],
)
def test_an_address_is_believed_from_our_own_proxy_alone(
    settings, rf, proxies: int, claimed: str, address: str
) -> None:
    settings.REST_FRAMEWORK = settings.REST_FRAMEWORK | {"NUM_PROXIES": proxies}
    assert address_of(rf.get("/", headers={"X-Forwarded-For": claimed} if claimed else {})) == address
