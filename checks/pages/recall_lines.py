"""The strokes of a recall, each with its three verdicts as they are drawn."""

from dataclasses import dataclass
from typing import Any

from checks.components.window_strip import Reading, Window, WindowStrip, window_strip
from checks.models import Recall
from checks.selectors.recall import (
    StrokeRow,
    strokes_of_recall,
)
from fleet.models import User


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """One of three verdicts as it is drawn; ``why`` where it is void."""

    state: str
    strip: WindowStrip
    why: str
    changed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A stroke with its verdicts: as recorded, with the whole error, with the error grown in time."""

    stroke: StrokeRow
    moment: str
    verdicts: tuple[Judged, Judged, Judged]
    percent: int


def lines_of(recall: Recall, user: User) -> list[Line]:
    """The strokes of a recall as they are drawn for `user`."""
    return [_line(stroke, user) for stroke in strokes_of_recall(recall, user)]


def _line(stroke: StrokeRow, user: User) -> Line:
    row, moment = stroke.row, stroke.row.original.stroke.moment
    limits = row.original.specification
    window = Window.of(limits)

    def judged(result: dict[str, Any]) -> Judged:
        reading = Reading(
            state=result["state"],
            travel_mm=result["travel_mm"],
            expanded_mm=result["expanded_uncertainty_mm"],
            moment=moment,
        )
        return Judged(
            state=result["state"],
            strip=window_strip(window, [reading], unit=user.length_unit),
            why=result["voids"][0]["code"].replace("_", " ") if result["voids"] else "",
            changed=result["state"] != row.original.state,
        )

    return Line(
        stroke=stroke,
        moment=str(row.original.stroke.get_moment_display()),
        verdicts=(judged(row.original.result), judged(row.full), judged(row.grown)),
        percent=round(100 * row.share),
    )
