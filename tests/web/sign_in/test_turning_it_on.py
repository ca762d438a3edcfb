"""The second factor is turned on and off by its owner, and its guesses are held off."""

import re
from urllib.parse import parse_qs, urlsplit

import pytest
from django.test import Client
from django.urls import reverse
from django_otp.plugins.otp_totp.models import TOTPDevice

from fleet.models import User
from fleet.problems import FleetError
from fleet.services.sign_in import begin_second_factor, confirm_second_factor, pass_second_step, renew_recovery_codes
from tests.web.sign_in.signing_in import PASSWORD, is_in, now

pytestmark = pytest.mark.django_db


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
