"""Windows of several specifications on one common scale, so that wide and narrow ones can be told apart."""

from collections.abc import Sequence
from dataclasses import dataclass

from checks.display import length_text
from checks.models import SpecificationRevision
from checks.pages.fields import own_unit
from fleet.models import User

WIDTH, HEIGHT, MARGIN = 240.0, 28.0, 4.0


@dataclass(frozen=True, slots=True, kw_only=True)
class WindowScale:
    """Where the window lies between zero and the common end; places in units of the picture."""

    low_x: float
    width_x: float
    nominal_x: float
    sentence: str
    lower: str
    nominal: str
    upper: str
    picture_width: float = WIDTH
    picture_height: float = HEIGHT
    margin: float = MARGIN


def window_scales(rows: Sequence[SpecificationRevision], user: User) -> dict[int, WindowScale]:
    """The scale of each revision by its primary key; the common end lies a tenth beyond the highest upper limit."""
    end = 1.1 * max((row.upper_mm for row in rows), default=1.0)
    return {row.pk: _scale(row, end, own_unit(user, "mm")) for row in rows}


def _scale(row: SpecificationRevision, end: float, unit: str) -> WindowScale:
    per_mm = (WIDTH - 2 * MARGIN) / end
    lower, nominal = (length_text(value, unit, with_unit=False) for value in (row.lower_mm, row.nominal_mm))
    upper = length_text(row.upper_mm, unit)
    return WindowScale(
        low_x=round(MARGIN + per_mm * row.lower_mm, 2),
        width_x=round(per_mm * (row.upper_mm - row.lower_mm), 2),
        nominal_x=round(MARGIN + per_mm * row.nominal_mm, 2),
        sentence=f"Window {lower} to {upper}, nominal {nominal}; the scale begins at zero.",
        lower=lower,
        nominal=nominal,
        upper=upper,
    )
