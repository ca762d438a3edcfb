"""The tablet finds a unit by the label that the manager printed, as its camera sees it."""

import io
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import segno
from django.urls import reverse
from PIL import Image, ImageFilter
from playwright.sync_api import Page, expect

from checks.selectors.label import label_address
from tests.bay import Bay
from tests.browser.guided import bay_in_inches
from tests.browser.looking import broken_rules
from tests.chromium import CHROMIUM
from tests.tablet import Tablet

pytestmark = pytest.mark.django_db(transaction=True)
SEEN = (640, 480)


@pytest.fixture
def bay(transactional_db: None) -> Bay:
    return bay_in_inches()


def code(text: str, **how: Any) -> Image.Image:
    out = io.BytesIO()
    segno.make(text, micro=False, **{"error": "q", **how}).save(out, kind="png", scale=6, border=4)
    return Image.open(out).convert("L")


def as_seen(picture: Image.Image) -> Image.Image:
    """As a camera sees it in a yard: from aside, turned, a little out of focus, in uneven light."""
    frame = Image.new("L", SEEN, 120)
    turned = picture.resize((300, 300)).rotate(17, expand=True, fillcolor=120, resample=Image.Resampling.BICUBIC)
    frame.paste(turned, (130, 45))
    aside = (1, 0.04, -12, 0.02, 1, -6, 0.00008, 0.00012)
    frame = frame.transform(SEEN, Image.Transform.PERSPECTIVE, aside, Image.Resampling.BICUBIC, fillcolor=120)
    light = np.linspace(0.55, 1.0, SEEN[0])[None, :] * np.linspace(1.0, 0.8, SEEN[1])[:, None]
    return Image.fromarray((np.asarray(frame.filter(ImageFilter.GaussianBlur(1.1))) * light).astype(np.uint8))


def film(path: Path, picture: Image.Image) -> Path:
    """A film of one picture in the plain format that Chromium's made-up camera plays (YUV4MPEG2)."""
    width, height = picture.size
    grey = np.asarray(picture).tobytes() + bytes([128]) * (width * height // 2)
    path.write_bytes(f"YUV4MPEG2 W{width} H{height} F10:1 Ip A1:1 C420jpeg\n".encode() + 4 * (b"FRAME\n" + grey))
    return path


@pytest.fixture
def filmed(playwright: Any, live_server: Any, tmp_path: Path) -> Iterator[Any]:
    """Return a function that opens a tablet whose camera sees a picture, or that has none."""
    browsers = []

    def open_with(picture: Image.Image | None) -> Tablet:
        args = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run"]
        if picture is not None:
            seen = film(tmp_path / f"seen{len(browsers)}.y4m", picture)
            args += ["--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream"]
            args += [f"--use-file-for-fake-video-capture={seen}"]
        browsers.append(playwright.chromium.launch(executable_path=CHROMIUM, args=args))
        context = browsers[-1].new_context(viewport={"width": 1180, "height": 820})
        return Tablet(context, live_server.url)

    yield open_with
    for browser in browsers:
        browser.close()


def test_the_camera_finds_the_unit_by_its_label_without_a_network(
    bay: Bay, filmed: Any, page: Page, shoot: Any, tmp_path: Path
) -> None:
    tablet = filmed(as_seen(code(label_address(bay.turbocharger))))
    tablet.open(bay.technician)
    with tablet.offline():
        tablet.page.get_by_role("button", name="Scan a label").click()
        expect(tablet.page.get_by_role("heading", level=1)).to_have_text(bay.truck.unit_number)
        expect(tablet.page.get_by_role("button", name="Begin the check")).to_be_visible()
    expect(tablet.page.locator("dialog")).to_have_count(0)


def test_another_code_is_no_label_and_the_number_may_be_typed_instead(bay: Bay, filmed: Any, page: Page) -> None:
    tablet = filmed(code("https://elsewhere.example/parts/4711"))
    tablet.open(bay.technician)
    tablet.page.get_by_role("button", name="Scan a label").click()
    expect(tablet.page.get_by_role("dialog")).to_contain_text("not the label of a turbocharger of this register")
    tablet.page.get_by_role("button", name="Type the number instead").click()
    expect(tablet.page.locator("#q")).to_be_focused()


def test_a_label_of_another_register_opens_no_unit_of_this_one(bay: Bay, filmed: Any, page: Page) -> None:
    stranger = label_address(bay.turbocharger).rsplit("-", 1)[0] + "-00000/"
    tablet = filmed(code(stranger))
    tablet.open(bay.technician)
    tablet.page.get_by_role("button", name="Scan a label").click()
    expect(tablet.page.get_by_role("heading", level=1)).to_have_text("This label is not known here")


def test_without_a_camera_a_picture_of_the_label_does(bay: Bay, filmed: Any, page: Page, shoot: Any) -> None:
    tablet = filmed(None)
    tablet.open(bay.technician)
    tablet.page.get_by_role("button", name="Scan a label").click()
    expect(tablet.page.get_by_role("dialog")).to_contain_text("Take one of the ways below")
    assert broken_rules(tablet.page) == []
    pick(tablet.page, Image.new("L", (300, 200), 200))
    expect(tablet.page.get_by_role("dialog")).to_contain_text("No code can be read in that picture")
    pick(tablet.page, as_seen(code(label_address(bay.turbocharger))))
    expect(tablet.page.get_by_role("heading", level=1)).to_have_text(bay.truck.unit_number)


def pick(page: Page, picture: Image.Image) -> None:
    out = io.BytesIO()
    picture.save(out, "JPEG")
    page.set_input_files("#scan-picture", {"name": "l.jpg", "mimeType": "image/jpeg", "buffer": out.getvalue()})


def test_codes_of_every_version_and_level_are_read(live_server: Any, page: Page) -> None:
    """Against segno, an independent implementation of ISO/IEC 18004: versions 1 to 10, four levels, every mask."""
    page.goto(live_server.url + reverse("login"))
    cases = []
    for version in range(1, 11):
        for level in "lmqh":
            mask = (version + "lmqh".index(level)) % 8
            text = f"v{version}{level}/x"[: 7 if version == 1 else 10]
            made = segno.make(text, version=version, error=level, mask=mask, boost_error=False, micro=False)
            rows = [list(row) for row in made.matrix]
            cases.append({"text": text, "side": len(rows), "modules": [bit for row in rows for bit in row]})
    for text in ("0123456789012345", "CAPITALS AND $%*+-./:", "Grüße, 日本"):
        rows = [list(row) for row in segno.make(text, micro=False).matrix]
        cases.append({"text": text, "side": len(rows), "modules": [bit for row in rows for bit in row]})
    read = page.evaluate(
        """async (cases) => {
            const { textOf } = await import("/static/checks/tablet/code/read.js");
            return cases.map(({ modules, side }) => textOf(Uint8Array.from(modules), side));
        }""",
        json.loads(json.dumps(cases)),
    )
    assert read == [case["text"] for case in cases]


@pytest.mark.parametrize("spoilt", [0.05, 0.10])
def test_a_dirty_code_is_mended_and_never_misread(live_server: Any, page: Page, spoilt: float) -> None:
    """Level H mends three codewords in ten (ISO/IEC 18004, table 8); more than that is no answer, not a wrong one."""
    page.goto(live_server.url + reverse("login"))
    rng = np.random.default_rng(5)
    rows = np.array([list(row) for row in segno.make("https://register.example/tablet/t/3F-7K3MQ/", error="h").matrix])
    side = len(rows)
    cases = []
    for _ in range(20):
        dirty = rows.copy()
        size = int(side * (spoilt * 1.2) ** 0.5)
        top, left = rng.integers(9, side - 9 - size, 2)
        dirty[top : top + size, left : left + size] = rng.integers(0, 2, (size, size))
        cases.append(dirty.ravel().tolist())
    cases.append(rng.integers(0, 2, side * side).tolist())
    read = page.evaluate(
        """async ([cases, side]) => {
            const { textOf } = await import("/static/checks/tablet/code/read.js");
            return cases.map((modules) => textOf(Uint8Array.from(modules), side));
        }""",
        [cases, side],
    )
    assert read == ["https://register.example/tablet/t/3F-7K3MQ/"] * 20 + [None]
