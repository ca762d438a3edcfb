"""A small picture of a certificate: errors with their uncertainty against what is permissible."""

from collections.abc import Sequence
from dataclasses import dataclass

from checks.models import CertificatePoint, Instrument
from checks.pages.numbers import number_text, quantity_text
from checks.selectors.instrument import CertificateRow, permissible_at
from fleet.models import User

# On the left a number of three digits has room with its sign and unit.
WIDTH, HEIGHT, LEFT, RIGHT, TOP, BOTTOM = 448.0, 190.0, 112.0, 8.0, 12.0, 28.0


@dataclass(frozen=True, slots=True)
class Mark:
    """One point where it is drawn, with the ends of its whisker."""

    x: float
    y: float
    low_y: float
    high_y: float
    left: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ErrorChart:
    """What the template draws, and the sentence that says the same."""

    marks: tuple[Mark, ...]
    allowed: str
    zero_y: float
    texts: tuple[tuple[float, float, str, str], ...]
    sentence: str
    width: float = WIDTH
    height: float = HEIGHT
    left: float = LEFT
    right: float = WIDTH - RIGHT


@dataclass(frozen=True, slots=True)
class _Scale:
    low: float
    high: float
    most: float

    def x(self, indication: float) -> float:
        return round(LEFT + (WIDTH - LEFT - RIGHT) * (indication - self.low) / (self.high - self.low), 1)

    def y(self, error: float) -> float:
        middle = TOP + (HEIGHT - TOP - BOTTOM) / 2
        return round(middle - (HEIGHT - TOP - BOTTOM) / 2 * error / self.most, 1)


def error_chart(instrument: Instrument, row: CertificateRow, kept: str, user: User) -> ErrorChart | None:
    """The chart of one certificate, or None without points."""
    points = [*row.found, *row.left]
    if not points:
        return None
    ends = [point.indication for point in points]
    span = (max(ends) - min(ends)) or 1.0
    limits = [permissible_at(instrument, end) or 0.0 for end in ends]
    reach = [abs(point.error) + point.expanded_uncertainty for point in points]
    scale = _Scale(min(ends) - 0.05 * span, max(ends) + 0.05 * span, 1.15 * max(*reach, *limits, 1e-12))
    return ErrorChart(
        marks=tuple(_mark(point, scale) for point in points),
        allowed=_allowed(instrument, scale),
        zero_y=scale.y(0.0),
        texts=_texts(scale, ends, max(limits), kept, user),
        sentence=_sentence(row, points, kept, user),
    )


def _mark(point: CertificatePoint, scale: _Scale) -> Mark:
    return Mark(
        x=scale.x(point.indication),
        y=scale.y(point.error),
        low_y=scale.y(point.error - point.expanded_uncertainty),
        high_y=scale.y(point.error + point.expanded_uncertainty),
        left=point.moment == CertificatePoint.Moment.AS_LEFT,
    )


def _allowed(instrument: Instrument, scale: _Scale) -> str:
    """Outline of what is permissible; it widens with the reading where a share of it is permitted."""
    places = [scale.low + (scale.high - scale.low) * i / 20 for i in range(21)]
    upper = [f"{scale.x(place)} {scale.y(permissible_at(instrument, place) or 0.0)}" for place in places]
    lower = [f"{scale.x(place)} {scale.y(-(permissible_at(instrument, place) or 0.0))}" for place in reversed(places)]
    return "M" + "L".join([*upper, *lower]) + "Z"


def _texts(
    scale: _Scale, ends: Sequence[float], limit: float, kept: str, user: User
) -> tuple[tuple[float, float, str, str], ...]:
    floor = HEIGHT - 8
    return (
        (LEFT - 6, scale.y(limit) + 4, "end", quantity_text(limit, kept, user, digits=3)),
        (LEFT - 6, scale.y(0) + 4, "end", "0"),
        (LEFT - 6, scale.y(-limit) + 4, "end", quantity_text(-limit, kept, user, digits=3)),
        (scale.x(min(ends)), floor, "start", quantity_text(min(ends), kept, user, digits=4)),
        (scale.x(max(ends)), floor, "end", quantity_text(max(ends), kept, user, digits=4)),
    )


def _sentence(row: CertificateRow, points: Sequence[CertificatePoint], kept: str, user: User) -> str:
    worst = max((abs(point.error) for point in row.left or points), default=0.0)
    words = f"Largest {'as-left' if row.left else 'as-found'} error {quantity_text(worst, kept, user, digits=3)}"
    if row.worst_share is None:
        return f"{words}."
    return f"{words}; largest as-found error {number_text(100 * row.worst_share, digits=3)} % of the permissible one."
