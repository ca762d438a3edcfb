"""How a person signs in."""

from base64 import b32encode
from dataclasses import dataclass

import segno
from django_otp.plugins.otp_totp.models import TOTPDevice

from fleet.models import User


@dataclass(frozen=True)
class SecondFactor:
    """`is_on`: asked for at each sign-in; `is_begun`: its key is shown but no code of it was given yet."""

    is_on: bool
    is_begun: bool
    codes_left: int
    codes_made: int


@dataclass(frozen=True)
class Key:
    """What a person's device takes over: a picture of the address, and the key to type where there is no camera."""

    picture: str
    text: str


def has_second_factor(user: User) -> bool:
    """Return whether a password alone does not let this person in."""
    return TOTPDevice.objects.filter(user=user, confirmed=True).exists()


def second_factor_of(user: User) -> SecondFactor:
    """Return how far a person's second factor is."""
    states = set(TOTPDevice.objects.filter(user=user).values_list("confirmed", flat=True))
    used = list(user.recovery_codes.values_list("used_at", flat=True))
    return SecondFactor(True in states, False in states and True not in states, used.count(None), len(used))


def key_to_take_over(user: User) -> Key | None:
    """Return the key of a factor that was begun; once a code of it was given, it is never shown again."""
    device = TOTPDevice.objects.filter(user=user, confirmed=False).first()
    if device is None:
        return None
    picture = segno.make(device.config_url, error="m", micro=False)
    uri: str = picture.svg_data_uri(scale=6, border=4, dark="#000", light="#fff")
    return Key(uri, in_groups(_base32(device)))


def in_groups(text: str) -> str:
    """Write a long code in groups of four, as a person reads it."""
    return " ".join(text[at : at + 4] for at in range(0, len(text), 4))


def _base32(device: TOTPDevice) -> str:
    return b32encode(device.bin_key).decode().rstrip("=")
