"""How a person signs in: the password, the second factor with its recovery codes, and which sessions still count."""

import logging
import secrets
from base64 import b32encode

from django.db import transaction
from django.db.models import F
from django.utils import timezone
from django_otp import verify_token
from django_otp.plugins.otp_totp.models import TOTPDevice

from fleet.models import RecoveryCode, User
from fleet.problems import FleetError
from fleet.selectors.secret import digest_of
from fleet.selectors.sign_in import has_second_factor, in_groups
from fleet.selectors.token import live_tokens
from fleet.services.passwords import take_password
from fleet.services.token import revoke_token

CODES = 8
# Past 112 bits a plain digest is enough: nobody tries all of them.
CODE_BYTES = 15
logger = logging.getLogger("fleet.sign_in")


@transaction.atomic
def change_password(*, user: User, old: str, new: str, with_tokens: bool = False) -> None:
    """Give a person another password; every other session ends, and where asked every token for programs."""
    if not user.check_password(old):
        raise FleetError("password_wrong", "old", "This is not your present password. Mind capital letters.")
    if old == new:
        raise FleetError("password_same", "new", "This is the password you have. Choose another one.")
    take_password(user, new, field="new")
    user.save(update_fields=["password"])
    logger.info("Person %s has a new password", user.pk)
    for token in live_tokens(user) if with_tokens else ():
        revoke_token(user=user, token=token)


def end_other_sessions(*, user: User) -> None:
    """Begin a new series of sign-ins: sessions of the one before count no more."""
    User.objects.filter(pk=user.pk).update(sign_in_series=F("sign_in_series") + 1)
    user.refresh_from_db(fields=["sign_in_series"])
    logger.info("The other sessions of person %s were ended", user.pk)


@transaction.atomic
def begin_second_factor(*, user: User) -> None:
    """Make the key that a device takes over; one that was begun before and never used ends."""
    if has_second_factor(user):
        raise FleetError("second_factor_on", "", "The second factor is on already. Turn it off to use another device.")
    TOTPDevice.objects.filter(user=user).delete()
    TOTPDevice.objects.create(user=user, name="codes", confirmed=False)


@transaction.atomic
def confirm_second_factor(*, user: User, code: str) -> list[str]:
    """Turn the second factor on once the device gives a right code, and return the recovery codes, kept nowhere."""
    device = TOTPDevice.objects.select_for_update().filter(user=user, confirmed=False).first()
    if device is None:
        raise FleetError("second_factor_not_begun", "", "There is no key to confirm. Begin again.")
    # Nobody gains by guessing a code for one's own key, and a device that is held off could not be set up.
    device.throttle_reset(commit=False)
    if not device.verify_token(_digits(code)):
        raise _wrong_code()
    device.confirmed = True
    device.save(update_fields=["confirmed"])
    end_other_sessions(user=user)
    logger.info("Person %s turned the second factor on", user.pk)
    return renew_recovery_codes(user=user)


@transaction.atomic
def renew_recovery_codes(*, user: User) -> list[str]:
    """Give a person new recovery codes and return them; the older ones end."""
    if not has_second_factor(user):
        raise FleetError("second_factor_off", "", "Recovery codes belong to a second factor. Turn it on first.")
    user.recovery_codes.all().delete()
    codes = [b32encode(secrets.token_bytes(CODE_BYTES)).decode() for _ in range(CODES)]
    RecoveryCode.objects.bulk_create(RecoveryCode(user=user, digest=_digest(code)) for code in codes)
    logger.info("Person %s has new recovery codes", user.pk)
    return [in_groups(code) for code in codes]


@transaction.atomic
def end_second_factor(*, user: User) -> None:
    """Let the password alone sign a person in again."""
    TOTPDevice.objects.filter(user=user).delete()
    user.recovery_codes.all().delete()
    end_other_sessions(user=user)
    logger.info("Person %s turned the second factor off", user.pk)


def pass_second_step(*, user: User, code: str) -> None:
    """Take a code of the person's device or a recovery code, each once; refuse anything else.

    After a wrong code of the device, the next is looked at only after a wait that doubles each time.
    """
    device = TOTPDevice.objects.filter(user=user, confirmed=True).first()
    if device is None:
        raise FleetError("second_factor_off", "", "The second factor was turned off meanwhile. Sign in again.")
    unused = user.recovery_codes.filter(digest=_digest(code), used_at=None)
    if unused.update(used_at=timezone.now()):
        logger.info("Person %s used a recovery code", user.pk)
    elif not verify_token(user, device.persistent_id, _digits(code)):
        logger.warning("A wrong second code was given for person %s", user.pk)
        raise _wrong_code()


def _wrong_code() -> FleetError:
    return FleetError(
        "code_wrong",
        "code",
        "This code is wrong, was used already, or came too soon after a wrong one. Wait for the next code; the clock "
        "of your device must be right.",
    )


def _digits(code: str) -> str:
    """A device shows its code in groups; anything but digits is no code of it."""
    bare = "".join(code.split())
    return bare if bare.isascii() and bare.isdecimal() else ""


def _digest(code: str) -> str:
    bare = "".join(code.split()).replace("-", "").upper()
    return digest_of(bare)
