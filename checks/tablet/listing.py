"""A list of readings that is added to one by one, where no tap may count twice."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from checks.tablet.words import PHASES
from fleet.problems import FleetError

Reading = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Row:
    """A reading as the list shows it. ``faint`` rows belong to an approach that was vented."""

    place: int
    number: int
    phase: str
    word: str
    stimulus: str
    travel: str
    seconds: str
    faint: bool


def listed(readings: list[Reading]) -> list[Row]:
    """Readings for the list, the latest first: that is the one just entered."""
    last_vent = max((i for i, reading in enumerate(readings) if reading["phase"] == "vent"), default=-1)
    rows = [
        Row(
            place=i,
            number=i + 1,
            phase=reading["phase"],
            word=PHASES[reading["phase"]],
            stimulus=_shown(reading["stimulus"]),
            travel=_shown(reading.get("travel")),
            seconds=f"{reading['seconds']} s" if reading.get("seconds") else "",
            faint=i < last_vent,
        )
        for i, reading in enumerate(readings)
    ]
    return rows[::-1]


def add_once(readings: list[Reading], post: Mapping[str, str], reading: Reading) -> list[Reading]:
    """`readings` with one more. A second tap on the same screen adds nothing.

    Raises
    ------
    FleetError
        ``list_moved`` (409) where the list has grown elsewhere since this screen was drawn.
    """
    count = post.get("count", "")
    if count == str(len(readings)):
        return [*readings, reading]
    if count.isdecimal() and int(count) < len(readings) and readings[int(count)] == reading:
        return readings
    raise _moved()


def replace(readings: list[Reading], post: Mapping[str, str], reading: Reading) -> list[Reading]:
    """`readings` with the one at the post's place corrected."""
    place = _place(readings, post)
    return [*readings[:place], reading, *readings[place + 1 :]]


def delete(readings: list[Reading], post: Mapping[str, str]) -> list[Reading]:
    """`readings` without the one at the post's place; one that is gone already is no error."""
    if post.get("count", "") != str(len(readings)):
        return readings
    place = _place(readings, post)
    return [*readings[:place], *readings[place + 1 :]]


def _place(readings: list[Reading], post: Mapping[str, str]) -> int:
    place = post.get("place", "")
    if not place.isdecimal() or int(place) >= len(readings):
        raise _moved()
    return int(place)


def _moved() -> FleetError:
    return FleetError(
        "list_moved",
        "list",
        "The list of readings was changed from another screen. It is shown as it now stands; look, then add again.",
        status=409,
    )


def _shown(typed: Mapping[str, str] | None) -> str:
    return f"{typed['text']} {typed['unit']}" if typed else ""
