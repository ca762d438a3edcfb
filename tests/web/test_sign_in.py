"""The sign-in: a second code where it is turned on, sessions that end, and passwords that change."""

import re
import time
from urllib.parse import parse_qs, urlsplit

import pytest
from django.contrib.auth import SESSION_KEY
from django.contrib.auth.password_validation import validate_password
from django.contrib.sessions.models import Session
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse
from django_otp.oath import totp
from django_otp.plugins.otp_totp.models import TOTPDevice

from fleet.models import Depot, User
from fleet.problems import FleetError
from fleet.selectors.token import live_tokens
from fleet.services.sign_in import (
    begin_second_factor,
    change_password,
    confirm_second_factor,
    end_other_sessions,
    end_second_factor,
    pass_second_step,
    renew_recovery_codes,
)
from fleet.services.token import make_token, revoke_token
from fleet.web import sessions
from fleet.web.address import address_of
from tests.factories import MembershipFactory, UserFactory

pytestmark = pytest.mark.django_db

PASSWORD = "marsh-lantern-47"
# RFC 6238, appendix B: the key of SHA-1 and three of its times with their codes of eight digits.
RFC_KEY = b"12345678901234567890".hex()
RFC_CODES = [(59, "94287082"), (1111111109, "07081804"), (20000000000, "65353130")]


@pytest.fixture
def sedge() -> User:
    user = MembershipFactory(role="viewer", user__username="sedge").user
    user.set_password(PASSWORD)
    user.save()
    return user


@pytest.fixture
def guarded(sedge: User) -> tuple[User, list[str]]:
    """A person with the second factor on, and the recovery codes."""
    begin_second_factor(user=sedge)
    return sedge, confirm_second_factor(user=sedge, code=now(sedge))


def now(user: User, ahead: int = 0) -> str:
    """The code of the person's device, as many steps from now."""
    device = TOTPDevice.objects.get(user=user)
    return f"{totp(device.bin_key, drift=ahead):06d}"


def first_step(client: Client, password: str = PASSWORD, **more: str):
    return client.post(reverse("login"), {"username": "sedge", "password": password, **more})


def is_in(client: Client) -> bool:
    return client.get(reverse("fleet:me")).status_code == 200


@pytest.mark.parametrize(("moment", "code"), RFC_CODES)
def test_codes_are_those_of_the_standard(sedge: User, monkeypatch, moment: int, code: str) -> None:
    monkeypatch.setattr(time, "time", lambda: moment)
    TOTPDevice.objects.create(user=sedge, key=RFC_KEY, digits=8)
    pass_second_step(user=sedge, code=code)


def test_a_password_alone_signs_in_who_has_no_second_factor(client: Client, sedge: User) -> None:
    first_step(client)
    assert is_in(client)


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


def test_new_recovery_codes_end_the_old_ones(guarded) -> None:
    user, codes = guarded
    renew_recovery_codes(user=user)
    with pytest.raises(FleetError):
        pass_second_step(user=user, code=codes[0])


def test_recovery_codes_are_not_kept(guarded) -> None:
    user, codes = guarded
    kept = " ".join(user.recovery_codes.values_list("digest", flat=True))
    assert not any(code.replace(" ", "") in kept for code in codes)
    # At least 112 bits each: base32 carries five bits a sign.
    assert min(5 * len(code.replace(" ", "")) for code in codes) >= 112


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


def test_who_is_no_administrator_is_told_so_without_a_circle(client: Client, sedge: User) -> None:
    client.force_login(sedge)
    assert client.get(reverse("admin:index"), follow=True).status_code == 403


def test_an_administrator_sees_no_key_and_can_let_somebody_in_again(client: Client, guarded) -> None:
    user, _ = guarded
    device = TOTPDevice.objects.get(user=user)
    User.objects.filter(pk=user.pk).update(is_staff=True, is_superuser=True)
    client.force_login(User.objects.get(pk=user.pk))
    page = client.get(reverse("admin:otp_totp_totpdevice_change", args=[device.pk]))
    assert page.status_code == 200
    assert device.key not in page.content.decode()
    client.post(reverse("admin:otp_totp_totpdevice_delete", args=[device.pk]), {"post": "yes"})
    assert not TOTPDevice.objects.exists()


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


def test_turning_it_on_goes_through_the_page(client: Client, sedge: User) -> None:
    client.force_login(sedge)
    address = reverse("fleet:second_factor")
    assert "This is not your password" in client.post(address, {"act": "begin", "password": "guess"}).content.decode()
    assert not TOTPDevice.objects.exists()
    page = client.post(address, {"act": "begin", "password": PASSWORD}, follow=True).content.decode()
    device = TOTPDevice.objects.get(user=sedge)
    secret = parse_qs(urlsplit(device.config_url).query)["secret"][0]
    assert secret in page.replace(" ", "")
    assert "data:image/svg+xml" in page
    assert "code is wrong" in client.post(address, {"act": "confirm", "code": "12"}).content.decode()
    shown = client.post(address, {"act": "confirm", "code": now(sedge)})
    assert shown.headers["Cache-Control"] == "no-store"
    codes = re.findall(r"<code>([A-Z2-7 ]{29})</code>", shown.content.decode())
    assert len(codes) == 8
    assert is_in(client)
    again = client.get(address).content.decode()
    assert secret not in again.replace(" ", "")
    assert "8 of 8 recovery codes" in again
    client.post(address, {"act": "end", "password": PASSWORD})
    assert not TOTPDevice.objects.exists()
    assert is_in(client)


@pytest.mark.parametrize("act", [renew_recovery_codes, lambda user: confirm_second_factor(user=user, code="1")])
def test_without_a_second_factor_there_is_nothing_to_renew_or_confirm(sedge: User, act) -> None:
    with pytest.raises(FleetError):
        act(user=sedge)


def test_a_factor_that_is_on_is_not_begun_again(guarded) -> None:
    user, _ = guarded
    with pytest.raises(FleetError, match="is on already"):
        begin_second_factor(user=user)


def test_guesses_at_an_open_session_are_held_off_like_those_at_the_sign_in(
    client: Client, sedge: User, settings
) -> None:
    settings.AXES_ENABLED = True
    client.force_login(sedge)
    address = reverse("fleet:second_factor")
    for guess in range(5):
        client.post(address, {"act": "end", "password": f"guess {guess}"})
    answer = client.post(address, {"act": "end", "password": PASSWORD})
    assert answer.status_code == 429 or "not your password" in answer.content.decode()


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


@pytest.mark.parametrize(
    ("proxies", "claimed", "address"),
    [(0, "203.0.113.9", "127.0.0.1"), (1, "203.0.113.9, 198.51.100.7", "198.51.100.7"), (1, "", "127.0.0.1")],
)
def test_an_address_is_believed_from_our_own_proxy_alone(
    settings, rf, proxies: int, claimed: str, address: str
) -> None:
    settings.REST_FRAMEWORK = settings.REST_FRAMEWORK | {"NUM_PROXIES": proxies}
    assert address_of(rf.get("/", headers={"X-Forwarded-For": claimed} if claimed else {})) == address
