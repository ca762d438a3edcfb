"""Photographs of a check: looked at closely before they are kept, since anything can be sent as a picture."""

import hashlib
import io
import warnings
from dataclasses import dataclass
from typing import IO
from uuid import UUID

from django.core.files.base import ContentFile
from django.db import IntegrityError, transaction
from PIL import Image, ImageOps, UnidentifiedImageError

from checks.models import Check, CheckPhoto
from checks.models.photo import photo_name
from fleet.models import Membership, User
from fleet.problems import FleetError
from fleet.selectors.scope import require

FORMATS = ("JPEG", "PNG", "WEBP")
LARGEST_BYTES = 12 * 1024 * 1024
# More than the cameras of tablets have; each pixel takes memory before anything of it can be judged.
LARGEST_PIXELS = 40_000_000
KEPT_SIDE = 2048
KEPT_QUALITY = 85
MOST = 12


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture drawn anew as JPEG: nothing is left of the file that was sent but what it showed."""

    content: bytes
    width: int
    height: int


def add_photo(*, user: User, check: Check, key: UUID, what: str, file: IO[bytes], size: int) -> CheckPhoto:
    """Keep a photograph beside a check. The same key with the same file again changes nothing.

    Raises
    ------
    FleetError
        ``not_allowed`` (403), ``photo_key_in_use`` (409), ``too_many_photos`` (409), and what ``redrawn`` raises.
    """
    require(user, Membership.Role.TECHNICIAN, check.turbocharger.depot)
    if what not in CheckPhoto.What.values:
        raise FleetError("not_a_choice", "what", f"Say what it shows: {', '.join(CheckPhoto.What.labels)}.")
    if not 0 < size <= LARGEST_BYTES:
        raise _empty() if size <= 0 else _too_large()
    sent = file.read(LARGEST_BYTES + 1)
    sent_sha256 = hashlib.sha256(sent).hexdigest()
    known = _known(check, key, sent_sha256)
    if known is not None:
        return known
    picture = redrawn(sent)
    try:
        with transaction.atomic():
            return _write(user, check, key, what, picture, sent_sha256)
    except IntegrityError:
        # The same photograph arrived twice in one moment; whoever was second gets the first one's row.
        known = _known(check, key, sent_sha256)
        if known is None:
            raise
        return known


def redrawn(sent: bytes) -> Picture:
    """The picture in a file, turned upright, no larger than needed, without what the camera noted in it.

    Raises
    ------
    FleetError
        ``photo_empty``, ``photo_unreadable``, ``photo_too_large`` on the field ``image``.
    """
    if not sent:
        raise _empty()
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(sent), formats=FORMATS) as opened:
                if opened.width * opened.height > LARGEST_PIXELS:
                    raise _too_large()
                return _drawn(opened)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise _too_large() from error
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, EOFError, MemoryError) as error:
        raise FleetError(
            "photo_unreadable",
            "image",
            "This file is no photograph that can be read. Send a JPEG, PNG or WebP picture.",
        ) from error


def _drawn(opened: Image.Image) -> Picture:
    opened.draft("RGB", (KEPT_SIDE, KEPT_SIDE))
    upright = ImageOps.exif_transpose(opened).convert("RGB")
    upright.thumbnail((KEPT_SIDE, KEPT_SIDE))
    # A fresh picture: whatever else the file carried stays behind.
    plain = Image.new("RGB", upright.size)
    plain.paste(upright)
    out = io.BytesIO()
    plain.save(out, "JPEG", quality=KEPT_QUALITY, optimize=True)
    return Picture(out.getvalue(), *plain.size)


def _write(user: User, check: Check, key: UUID, what: str, picture: Picture, sent_sha256: str) -> CheckPhoto:
    # The lock makes photographs that arrive together be counted one after the other.
    Check.objects.select_for_update().get(pk=check.pk)
    if check.photos.count() >= MOST:
        raise FleetError("too_many_photos", "image", f"A check keeps at most {MOST} photographs.", status=409)
    photo = CheckPhoto(
        check_made=check,
        key=key,
        what=what,
        size=len(picture.content),
        width=picture.width,
        height=picture.height,
        sha256=hashlib.sha256(picture.content).hexdigest(),
        sent_sha256=sent_sha256,
        added_by=user,
    )
    photo.image.name = photo_name(photo, "")
    photo.save(force_insert=True)
    # Only whoever got the row writes the file; where that fails, the row goes too.
    photo.image.storage.save(photo.image.name, ContentFile(picture.content))
    return photo


def _known(check: Check, key: UUID, sent_sha256: str) -> CheckPhoto | None:
    photo = CheckPhoto.objects.filter(key=key).first()
    if photo is None:
        return None
    if photo.check_made_id != check.pk or photo.sent_sha256 != sent_sha256:
        raise FleetError(
            "photo_key_in_use", "key", "Another photograph was sent under this key. Take this one again.", status=409
        )
    return photo


def _empty() -> FleetError:
    return FleetError("photo_empty", "image", "No photograph was chosen, or the file is empty. Choose it again.")


def _too_large() -> FleetError:
    return FleetError(
        "photo_too_large",
        "image",
        f"This picture is too large: send at most {LARGEST_BYTES // 1024**2} MB and {LARGEST_PIXELS // 10**6} million "
        "pixels. Take it with a lower resolution.",
    )
