"""The second step of a sign-in: codes that count once, wait after wrong ones, and cannot be gone around."""

import time

import pytest
from django.contrib.auth import SESSION_KEY
from django.test import Client
from django.urls import reverse
from django_otp.plugins.otp_totp.models import TOTPDevice

from fleet.models import User
from fleet.problems import FleetError
from fleet.services.sign_in import change_password, pass_second_step
from tests.web.sign_in.signing_in import PASSWORD, first_step, is_in, now

pytestmark = pytest.mark.django_db


# RFC 6238, appendix B: the key of SHA-1 and three of its times with their codes of eight digits.
RFC_KEY = b"12345678901234567890".hex()
RFC_CODES = [(59, "94287082"), (1111111109, "07081804"), (20000000000, "65353130")]


@pytest.mark.parametrize(("moment", "code"), RFC_CODES)
def test_codes_are_those_of_the_standard(sedge: User, monkeypatch, moment: int, code: str) -> None:
    monkeypatch.setattr(time, "time", lambda: moment)
    TOTPDevice.objects.create(user=sedge, key=RFC_KEY, digits=8)
    pass_second_step(user=sedge, code=code)


def test_a_password_alone_does_not_sign_in_who_has_one(client: Client, guarded) -> None:
    answer = first_step(client, next="/register/trucks/")
    assert answer.headers["Location"].startswith(reverse("second_step"))
    assert not is_in(client)
    assert SESSION_KEY not in client.session
    assert client.get(reverse("api-depots")).status_code in {401, 403}


def test_the_second_code_lets_in_and_leads_on(client: Client, guarded) -> None:
    user, _ = guarded
    target = first_step(client, next="/register/trucks/").headers["Location"]
    answer = client.post(target, {"code": now(user, 1), "next": "/register/trucks/"})
    assert answer.headers["Location"] == "/register/trucks/"
    assert is_in(client)


def test_the_second_step_leads_nowhere_outside(client: Client, guarded) -> None:
    user, _ = guarded
    first_step(client, next="https://elsewhere.example/")
    answer = client.post(reverse("second_step"), {"code": now(user, 1), "next": "https://elsewhere.example/"})
    assert answer.headers["Location"] == "/"


def test_a_code_counts_once(guarded) -> None:
    user, _ = guarded
    code = now(user, 1)
    pass_second_step(user=user, code=code)
    with pytest.raises(FleetError, match="was used already"):
        pass_second_step(user=user, code=code)


def test_a_recovery_code_counts_once_however_it_is_typed(guarded) -> None:
    user, codes = guarded
    pass_second_step(user=user, code=codes[0].lower().replace(" ", "-"))
    with pytest.raises(FleetError):
        pass_second_step(user=user, code=codes[0])
    pass_second_step(user=user, code=codes[1])
    assert user.recovery_codes.filter(used_at=None).count() == len(codes) - 2


def test_after_a_wrong_code_the_right_one_waits(guarded) -> None:
    user, _ = guarded
    for _ in range(3):
        with pytest.raises(FleetError):
            pass_second_step(user=user, code="000000")
    with pytest.raises(FleetError, match="too soon after a wrong one"):
        pass_second_step(user=user, code=now(user, 1))


def test_five_wrong_codes_ask_for_the_password_again(client: Client, guarded) -> None:
    _, codes = guarded
    first_step(client)
    answers = [client.post(reverse("second_step"), {"code": "12"}) for _ in range(5)]
    assert [answer.status_code for answer in answers] == [200] * 4 + [302]
    assert answers[-1].headers["Location"] == reverse("login")
    client.post(reverse("second_step"), {"code": codes[0]})
    assert not is_in(client)


def test_the_second_step_waits_five_minutes(client: Client, guarded, monkeypatch) -> None:
    _, codes = guarded
    first_step(client)
    later = time.time() + 301
    monkeypatch.setattr("fleet.web.sign_in.time.time", lambda: later)
    assert client.post(reverse("second_step"), {"code": codes[0]}).headers["Location"] == reverse("login")


def test_a_password_changed_between_the_steps_stops_them(client: Client, guarded) -> None:
    user, codes = guarded
    first_step(client)
    change_password(user=user, old=PASSWORD, new="another-lantern-48")
    client.post(reverse("second_step"), {"code": codes[0]})
    assert not is_in(client)


def test_the_second_step_alone_leads_to_the_first(client: Client) -> None:
    assert client.get(reverse("second_step")).headers["Location"] == reverse("login")


def test_the_administration_has_no_way_around(client: Client, guarded) -> None:
    user, _ = guarded
    User.objects.filter(pk=user.pk).update(is_staff=True, is_superuser=True)
    answer = client.post("/admin/login/", {"username": "sedge", "password": PASSWORD})
    assert answer.headers["Location"].startswith(reverse("login"))
    assert client.get(reverse("admin:index")).status_code == 302
