"""A fleet of our own invention as its people would send it: a register from a spreadsheet, and a month of trips."""

import random
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.utils import timezone

from fleet.models.vin import expected_check_digit

DEPOT, CODE, ZONE = "Holm Pit", "HOLM", "Europe/Berlin"
MODEL = "Holm 4"
# The truck that carries two turbochargers, and the one whose VIN was copied down wrong.
TWIN, MISCOPIED = "H07", "H12"
UNITS = tuple(f"H{number:02}" for number in range(1, 21))
HEADING = (
    "Unit number", "Depot", "VIN", "In service from", "Description", "Engine serial", "Engine model", "Layout",
    "Turbocharger", "Model", "Origin", "Received on", "Position", "Fitted on", "Odometer (km)", "Engine hours",
)  # fmt: skip
TRIP_HEADING = ("Wagon", "Left", "Home", "Way", "Diesel", "Tonnes", "Climb", "Standing")


@dataclass(frozen=True, slots=True)
class Month:
    """The last month that is over at the depot."""

    first: date
    last: date


def last_month() -> Month:
    """The month that a new fleet has its trips of."""
    last = timezone.now().astimezone(ZoneInfo(ZONE)).date().replace(day=1) - timedelta(days=1)
    return Month(last.replace(day=1), last)


def vin(place: int) -> str:
    """An invented number that no maker's begins like, with its check digit."""
    bare = f"000HQLM4{0}R{place:07}".replace("Q", "K")
    return bare[:8] + expected_check_digit(bare) + bare[9:]


def register_file(*, mended: bool) -> bytes:
    """Twenty trucks as a spreadsheet program writes them where a comma is decimal: marked UTF-8, semicolons, CRLF."""
    lines = [HEADING]
    for place, unit in enumerate(UNITS):
        number = vin(place)
        if unit == MISCOPIED and not mended:
            number = number[:8] + ("1" if number[8] != "1" else "2") + number[9:]
        for position in ("front", "rear") if unit == TWIN else ("single",):
            lines.append(_fitted(place, unit, number, position))
    return "".join(";".join(line) + "\r\n" for line in lines).encode("utf-8-sig")


def _fitted(place: int, unit: str, number: str, position: str) -> tuple[str, ...]:
    mark = {"single": "", "front": "F", "rear": "R"}[position]
    began = date(2023, 3, 1) + timedelta(days=11 * place)
    layout = "single" if position == "single" else "twin"
    return (
        unit, CODE, number, f"{began:%d.%m.%Y}", "Kipper für Kalk" if place % 2 else "gravel tipper",
        f"E-{4100 + place}", "Lade 12", layout, f"T-{7100 + place}{mark}", MODEL,
        "reconditioned" if place % 5 == 0 else "new", f"{began - timedelta(days=20):%d.%m.%Y}", position,
        f"{began:%d.%m.%Y}", f"{120 + 7 * place},5", f"{4 + place},25",
    )  # fmt: skip


def trips_file(month: Month, *, wrong: bool = True) -> tuple[bytes, int]:
    """Two trips on each working day of every truck, in the depot's time, and how many there are without the wrong line.

    One in ten comes home after midnight. The wrong line names a truck that nobody has.
    """
    drawn = random.Random(4)
    rows = [TRIP_HEADING]
    days = [month.first + timedelta(days=i) for i in range((month.last - month.first).days + 1)]
    for unit in UNITS:
        for day in (one for one in days if one.weekday() < 5):
            late = drawn.random() < 0.1
            rows += [_trip(drawn, unit, day, 6.0), _trip(drawn, unit, day, 22.5 if late else 13.0)]
    count = len(rows) - 1
    if wrong:
        rows.append(("H99", *rows[1][1:]))
    return "".join(";".join(row) + "\n" for row in rows).encode(), count


def _trip(drawn: random.Random, unit: str, day: date, hour: float) -> tuple[str, ...]:
    left = datetime(day.year, day.month, day.day) + timedelta(hours=hour, minutes=drawn.randint(0, 40))  # noqa: DTZ001
    way, load = drawn.uniform(70, 160), drawn.choice((0.0, 17.5, 21.25))
    home = left + timedelta(hours=way / drawn.uniform(42, 58))
    diesel = way * (0.24 + 0.0045 * load) * drawn.uniform(0.96, 1.04)
    numbers = (
        f"{way:.1f}",
        f"{diesel:.1f}",
        f"{load:.2f}",
        f"{way * drawn.uniform(3, 6):.0f}",
        f"{drawn.uniform(5, 25):.0f}",
    )
    return (unit, f"{left:%d.%m.%Y %H:%M}", f"{home:%d.%m.%Y %H:%M}", *(text.replace(".", ",") for text in numbers))
