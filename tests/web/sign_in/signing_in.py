"""A person with a password, its first step, and the code of their device."""

from django.test import Client
from django.urls import reverse
from django_otp.oath import totp
from django_otp.plugins.otp_totp.models import TOTPDevice

from fleet.models import User

PASSWORD = "marsh-lantern-47"


def now(user: User, ahead: int = 0) -> str:
    """The code of the person's device, as many steps from now."""
    device = TOTPDevice.objects.get(user=user)
    return f"{totp(device.bin_key, drift=ahead):06d}"


def first_step(client: Client, **more: str):
    return client.post(reverse("login"), {"username": "sedge", "password": PASSWORD, **more})


def is_in(client: Client) -> bool:
    return client.get(reverse("fleet:me")).status_code == 200
