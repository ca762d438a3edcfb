"""Photographs stand beside a check; whatever is sent as one is drawn anew before it is kept."""

import hashlib
import io
import uuid
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image, TiffImagePlugin

from checks.models import Check, CheckPhoto
from checks.services import photo as service
from checks.services.check import record_check
from fleet.problems import FleetError
from tests.bay import Bay, make_bay

pytestmark = pytest.mark.django_db


@pytest.fixture
def bay() -> Bay:
    return make_bay()


@pytest.fixture
def check(bay: Bay) -> Check:
    return record_check(user=bay.technician, submission=bay.submission())


def picture(size: tuple[int, int] = (320, 240), form: str = "JPEG", **more: Any) -> bytes:
    """A picture whose left half is dark."""
    image = Image.new("RGB", size, (220, 220, 210))
    image.paste((30, 40, 60), (0, 0, size[0] // 2, size[1]))
    out = io.BytesIO()
    image.save(out, form, **more)
    return out.getvalue()


def add(user: Any, check: Check, content: bytes, key: uuid.UUID | None = None) -> CheckPhoto:
    return service.add_photo(
        user=user, check=check, key=key or uuid.uuid4(), what="dial", file=io.BytesIO(content), size=len(content)
    )


def send(user: Any, check: Check, content: bytes, **typed: str) -> Any:
    """As a tablet sends it."""
    client = Client()
    client.force_login(user)
    body = {"key": str(uuid.uuid4()), "what": "meter", **typed, "image": SimpleUploadedFile("a.jpg", content)}
    return client.post(f"/tablet/checks/{check.key}/photos/", body)


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_a_photograph_is_kept_as_a_jpeg_with_its_digest(bay: Bay, check: Check, form: str) -> None:
    photo = add(bay.technician, check, picture(form=form))
    kept = photo.image.open("rb").read()
    assert Image.open(io.BytesIO(kept)).format == "JPEG"
    assert (photo.size, photo.sha256) == (len(kept), hashlib.sha256(kept).hexdigest())
    assert (photo.width, photo.height, photo.added_by) == (320, 240, bay.technician)


def test_a_large_photograph_is_made_smaller_and_keeps_its_shape(bay: Bay, check: Check) -> None:
    photo = add(bay.technician, check, picture((4000, 3000)))
    assert (photo.width, photo.height) == (2048, 1536)


def test_what_the_camera_noted_is_gone_and_the_picture_stands_upright(bay: Bay, check: Check) -> None:
    """Orientation 6 turns a picture a quarter to the right (Exif 2.3, tag 0x0112, from memory)."""
    exif = Image.Exif()
    exif[0x0112] = 6
    exif.get_ifd(0x8825)[2] = tuple(TiffImagePlugin.IFDRational(one) for one in (54, 10, 0))
    photo = add(bay.technician, check, picture(exif=exif.tobytes()))
    kept = Image.open(photo.image.open("rb"))
    assert kept.size == (240, 320)
    assert not kept.getexif()
    assert sum(kept.getpixel((120, 20))) < 250 < sum(kept.getpixel((120, 300)))


def test_nothing_that_hides_behind_a_picture_is_kept(bay: Bay, check: Check) -> None:
    hidden = b"<script>alert(1)</script>PK\x03\x04"
    photo = add(bay.technician, check, picture(comment=b"<?php") + hidden)
    kept = photo.image.open("rb").read()
    assert b"script" not in kept
    assert b"<?php" not in kept
    assert b"PK\x03\x04" not in kept


HOSTILE = {
    "nothing": b"",
    "svg": b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>',
    "html": b"<!doctype html><script>alert(1)</script>",
    "cut off": picture((800, 600))[:900],
    "a bare head": b"\xff\xd8\xff\xe0",
    "gif": picture(form="GIF"),
    "noise": bytes(range(256)) * 20,
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_file_that_is_no_photograph_is_refused_with_its_reason(bay: Bay, check: Check, name: str) -> None:
    answer = send(bay.technician, check, HOSTILE[name])
    assert answer.status_code == 400
    assert answer.json()["code"] in {"photo_unreadable", "photo_empty"}
    assert not CheckPhoto.objects.exists()


def test_a_picture_that_would_fill_the_memory_is_refused_before_it_is_opened(bay: Bay, check: Check) -> None:
    bomb = picture((9000, 9000), "PNG")
    assert len(bomb) < 1_000_000
    with pytest.raises(FleetError, match="too large"):
        add(bay.technician, check, bomb)


def test_a_file_beyond_the_limit_is_refused(bay: Bay, check: Check, monkeypatch: Any) -> None:
    monkeypatch.setattr(service, "LARGEST_BYTES", 500)
    answer = send(bay.technician, check, picture())
    assert (answer.status_code, answer.json()["code"]) == (400, "photo_too_large")


def test_the_same_photograph_again_is_one_and_another_under_its_key_is_told(bay: Bay, check: Check) -> None:
    key = str(uuid.uuid4())
    first, second = (send(bay.technician, check, picture(), key=key) for _ in range(2))
    assert (first.status_code, second.status_code) == (201, 201)
    assert first.json() == second.json()
    assert CheckPhoto.objects.count() == 1
    other = send(bay.technician, check, picture((100, 100)), key=key)
    assert (other.status_code, other.json()["code"]) == (409, "photo_key_in_use")


def test_a_check_keeps_only_so_many(bay: Bay, check: Check, monkeypatch: Any) -> None:
    monkeypatch.setattr(service, "MOST", 1)
    add(bay.technician, check, picture())
    answer = send(bay.technician, check, picture((100, 100)))
    assert (answer.status_code, answer.json()["code"]) == (409, "too_many_photos")


def test_photographs_are_for_the_depot_alone(bay: Bay, check: Check) -> None:
    photo = add(bay.technician, check, picture())
    stranger = make_bay()
    assert send(stranger.technician, check, picture()).status_code == 404
    assert send(bay.viewer, check, picture()).status_code == 404
    for user, status in ((bay.viewer, 200), (stranger.manager, 404)):
        client = Client()
        client.force_login(user)
        answer = client.get(f"/photos/{photo.key}.jpg")
        assert answer.status_code == status
    assert Client().get(f"/photos/{photo.key}.jpg").status_code == 302


def test_the_picture_is_served_as_what_it_is(bay: Bay, check: Check) -> None:
    photo = add(bay.technician, check, picture())
    client = Client()
    client.force_login(bay.viewer)
    answer = client.get(f"/photos/{photo.key}.jpg")
    assert answer.headers["Content-Type"] == "image/jpeg"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert "private" in answer.headers["Cache-Control"]
    assert hashlib.sha256(b"".join(answer.streaming_content)).hexdigest() == photo.sha256


def test_the_page_of_the_check_shows_it_with_who_and_takes_another(bay: Bay, check: Check) -> None:
    photo = add(bay.technician, check, picture())
    client = Client()
    client.force_login(bay.manager)
    text = client.get(f"/checks/{check.pk}/").content.decode()
    assert f'src="/photos/{photo.key}.jpg"' in text
    assert f"added by {bay.technician.display_name}" in text
    body = {"key": str(uuid.uuid4()), "what": "meter", "image": SimpleUploadedFile("b.png", picture(form="PNG"))}
    assert client.post(f"/checks/{check.pk}/photos/", body).url == f"/checks/{check.pk}/"
    assert [row.added_by for row in check.photos.all()] == [bay.technician, bay.manager]
    bad = {"key": str(uuid.uuid4()), "what": "dial", "image": SimpleUploadedFile("c.svg", HOSTILE["svg"])}
    answer = client.post(f"/checks/{check.pk}/photos/", bad, follow=True)
    assert "no photograph that can be read" in answer.content.decode()


def test_a_viewer_sees_photographs_and_no_form(bay: Bay, check: Check) -> None:
    client = Client()
    client.force_login(bay.viewer)
    assert "photo-image" not in client.get(f"/checks/{check.pk}/").content.decode()
    add(bay.technician, check, picture())
    text = client.get(f"/checks/{check.pk}/").content.decode()
    assert "Photographs" in text
    assert "photo-image" not in text
