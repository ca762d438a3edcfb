"""The readings of strokes under way, among the answers: in the procedure's order, whichever was entered last."""

from collections.abc import Mapping
from typing import Any

# The order in which readings belong in a stroke; the approaches keep the order in which they were made.
_SECTIONS = {"zero": 0, "exercise": 1, "zero_return": 2, "rise": 3, "setting": 3, "vent": 3, "fall": 4, "hold": 4}


def readings_of(answers: Mapping[str, Any], moment: str, *phases: str) -> list[dict[str, Any]]:
    """The readings of one stroke in the order made; of `phases` only where some are named."""
    stroke = answers.get(moment) or {}
    return [reading for reading in stroke.get("readings", []) if not phases or reading["phase"] in phases]


def in_order(readings: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Readings in the procedure's order, whichever was entered or corrected last."""
    return sorted(readings, key=lambda reading: _SECTIONS[reading["phase"]])


def replace_section(
    answers: Mapping[str, Any], moment: str, phases: tuple[str, ...], readings: list[dict[str, Any]]
) -> dict[str, Any]:
    """Answers with the readings of `phases` in one stroke replaced by `readings`."""
    kept = [reading for reading in readings_of(answers, moment) if reading["phase"] not in phases]
    return {moment: {"readings": in_order([*kept, *readings])}}
