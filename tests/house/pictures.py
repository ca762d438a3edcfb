"""Take the pictures of README from a loaded demonstration.

    LOCAL=1 VAR_DIR=/tmp/d DATABASE_URL=sqlite:////tmp/d/x.sqlite3 python tests/house/pictures.py

Serves that database from the code as it stands and writes fixtures/pictures/*.png, small enough for a page to load at
once. One check is begun in it, so that a tablet has something to show. Load it first (migrate, demo), and let a worker
finish its jobs.
"""

import io
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

# The first sets Django up.
from tests.chromium import CHROMIUM  # noqa: E402, I001
from tests.house.contact_sheet import Client, served, settings, sync_playwright  # noqa: E402

from django.db.models import Count  # noqa: E402
from django.urls import reverse  # noqa: E402
from PIL import Image  # noqa: E402

from checks.models import Check, Draft, Reading  # noqa: E402
from fleet.models import MeterReading, Turbocharger, User  # noqa: E402
from tests.browser.looking import draw_charts  # noqa: E402

FOLDER = ROOT / "fixtures/pictures"
MOST_BYTES = 150_000
# A chart that has just been drawn takes its size a moment later.
SETTLED_MS = 1500
DESKTOP, UPRIGHT = (1360, 900), (800, 1180)


@dataclass(frozen=True)
class Picture:
    """A page on a screen, opened by one of the demonstration's people, or by the technician of the check."""

    name: str
    who: str
    address: Callable[[Check], str]
    size: tuple[int, int] = DESKTOP


PICTURES = (
    Picture("board", "marram", lambda check: reverse("reports:board")),
    Picture("unit", "marram", lambda check: reverse("reports:unit", args=[check.turbocharger_id])),
    Picture("rise", "", lambda check: begun(check), UPRIGHT),
    Picture("check", "marram", lambda check: reverse("reports:check", args=[check.pk])),
    Picture("week", "marram", lambda check: reverse("reports:week", args=[check.depot.code])),
    Picture("fuel", "marram", lambda check: reverse("reports:fuel")),
)


def chosen() -> Check:
    """The last check of the unit with the most of them: of a pneumatic model, fitted, and read on a gauge at last."""
    units = Turbocharger.objects.filter(model__stimulus="pneumatic", fitments__removed_on=None, checks__isnull=False)
    for unit in units.annotate(made=Count("checks", distinct=True)).order_by("-made", "pk"):
        last: Check = unit.checks.select_related("depot", "technician").order_by("-made_at")[0]
        if last.meter_id is None and last.fitment_id and last.strokes.filter(moment="as_left").exists():
            return last
    raise SystemExit("Load the demonstration first: manage.py demo")


def begun(check: Check) -> str:
    """The address of the rise of a new check of the same unit, with the readings of the old one but the last."""
    client = signed_in(check.technician)
    client.post(reverse("checks:begin", args=[check.turbocharger_id]))
    draft = Draft.objects.get(turbocharger=check.turbocharger)

    def send(step: str, **typed: Any) -> None:
        client.post(reverse("checks:step", args=[draft.key, step]), typed)

    read = MeterReading.objects.filter(truck__installations__engine__fitments=check.fitment, odometer_km__isnull=False)
    send(
        "reason",
        reason="scheduled",
        odometer=str(round(max(row.odometer_km or 0 for row in read)) + 180),
        odometer_unit="km",
    )
    tools = {"dial": check.dial_id, "stimulus": check.stimulus_instrument_id, "knowing": "yes"}
    send("instruments", geometry="flat_face", angle_max_deg="5", **tools)
    send("cautions", read="yes")
    rows = list(Reading.objects.filter(stroke__check_made=check, stroke__moment="as_found").order_by("pk"))
    send("zero", **typed_of(next(row for row in rows if row.phase == "zero")))
    cycles = [row for row in rows if row.phase == "exercise"]
    send("exercise", **{f"{name}{i}{rest}": value for i, row in enumerate(cycles)
                        for name, rest, value in (("stimulus", "", row.stimulus_typed),
                                                  ("stimulus", "_unit", row.stimulus_unit))})  # fmt: skip
    send("zero-return", **typed_of(next(row for row in rows if row.phase == "zero_return")))
    for count, row in enumerate(row for row in rows if row.phase == "rise"):
        send("rise", action="add", count=count, **typed_of(row))
    return reverse("checks:step", args=[draft.key, "rise"])


def typed_of(row: Reading) -> dict[str, Any]:
    """A reading as it is typed again."""
    return {
        "stimulus": row.stimulus_typed, "stimulus_unit": row.stimulus_unit,
        "travel": row.travel_typed, "travel_unit": row.travel_unit,
    }  # fmt: skip


def signed_in(user: User) -> Client:
    """Somebody with a session."""
    client = Client(SERVER_NAME="localhost")
    client.force_login(user)
    return client


def small(shot: bytes) -> bytes:
    """The same picture with as many colours as its size allows."""
    picture = Image.open(io.BytesIO(shot)).convert("RGB")
    for colours in (256, 128, 64, 32):
        out = io.BytesIO()
        picture.quantize(colours, dither=Image.Dither.NONE).save(out, "PNG", optimize=True)
        if out.tell() <= MOST_BYTES:
            return out.getvalue()
    raise SystemExit(f"A picture is larger than {MOST_BYTES} bytes even with 32 colours.")


def main() -> None:
    """Take every picture."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    check = chosen()
    with served() as origin, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        for picture in PICTURES:
            address = picture.address(check)
            who = User.objects.get(username=picture.who) if picture.who else check.technician
            width, height = picture.size
            context = browser.new_context(
                viewport={"width": width, "height": height}, color_scheme="light", reduced_motion="reduce"
            )
            kept = signed_in(who).cookies[settings.SESSION_COOKIE_NAME]
            context.add_cookies([{"name": kept.key, "value": kept.value, "url": origin}])
            page = context.new_page()
            page.goto(origin + address)
            draw_charts(page)
            page.wait_for_timeout(SETTLED_MS)
            content = small(page.screenshot())
            (FOLDER / f"{picture.name}.png").write_bytes(content)
            print(f"{picture.name:<8} {len(content) / 1000:4.0f} kB  {address}")
            context.close()
        browser.close()


if __name__ == "__main__":
    main()
