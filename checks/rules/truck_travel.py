"""From stretches of turbochargers' lives to what each truck's wastegates did in each month."""

from dataclasses import dataclass, fields

import numpy as np

from checks.rules.complaints import Travel
from checks.rules.epochs import Floats, Ints

# A month counts as known from this share of its unit-days on.
ENOUGH_KNOWN = 0.8
# A side is what a wastegate is more likely on than not.
LIKELY = 0.5
_MONTHS = 1_000_000


@dataclass(frozen=True, slots=True)
class Pieces:
    """Parts of months in which one turbocharger stood on one truck in one stretch; shapes (p,).

    ``days`` it lasted; ``known``: whether any reading or forecast tells its travel, without which the rest is 0.
    Expected shortfall and excess with their standard deviations, mm; chances of either side; ``plain_*`` as if travel
    were its mean; ``place``: where the mean stands in the window, 0 at its lower and 1 at its upper limit.
    """

    truck: Ints
    month: Ints
    turbocharger: Ints
    days: Floats
    known: np.ndarray
    shortfall_mm: Floats
    excess_mm: Floats
    shortfall_sd_mm: Floats
    excess_sd_mm: Floats
    p_below: Floats
    p_above: Floats
    plain_shortfall_mm: Floats
    plain_excess_mm: Floats
    place: Floats


@dataclass(frozen=True, slots=True)
class UnitMonths:
    """What each turbocharger did in each month on a truck; shapes (u,), sorted by the row of its truck-month.

    ``row``: its truck-month; ``share``: of what its truck's travel costs in the month, adding up to 1 in each.
    """

    row: Ints
    turbocharger: Ints
    days: Floats
    shortfall_mm: Floats
    excess_mm: Floats
    shortfall_sd_mm: Floats
    excess_sd_mm: Floats
    share: Floats


@dataclass(frozen=True, slots=True)
class TruckTravel:
    """Travel of truck-months, in the order asked for; shapes (c,), nan and `Travel.UNKNOWN` where it is not known.

    Shortfall and excess are means over the truck's positions, weighted by days. ``turbocharger``: the one farthest
    out, else the one fitted longest; -1 where none was fitted.
    """

    travel: Ints
    turbocharger: Ints
    shortfall_mm: Floats
    excess_mm: Floats
    shortfall_sd_mm: Floats
    excess_sd_mm: Floats
    plain_shortfall_mm: Floats
    plain_excess_mm: Floats
    place: Floats
    units: UnitMonths

    @property
    def known(self) -> np.ndarray:
        """Which months count in the fit, shape (c,)."""
        return np.asarray(self.travel != Travel.UNKNOWN)


def joined(parts: list[Pieces]) -> Pieces:
    """All pieces in one."""
    return Pieces(*(np.concatenate([getattr(part, f.name) for part in parts]) for f in fields(Pieces)))


def truck_travel(pieces: Pieces, truck: Ints, month: Ints) -> TruckTravel:
    """Gather pieces into the truck-months asked for, which are sorted by truck and month."""
    wanted = truck * _MONTHS + month
    key = pieces.truck * _MONTHS + pieces.month
    row = np.searchsorted(wanted, key)
    held = np.flatnonzero((row < len(wanted)) & (wanted[np.minimum(row, len(wanted) - 1)] == key) & (pieces.days > 0))
    order = held[np.lexsort((pieces.turbocharger[held], row[held]))]
    return _Gathered(pieces, order, row[order], len(wanted)).told()


class _Gathered:
    """Pieces in the order of truck-month and turbocharger."""

    def __init__(self, pieces: Pieces, order: Ints, row: Ints, months: int) -> None:
        self.pieces, self.order, self.months = pieces, order, months
        turbocharger = pieces.turbocharger[order]
        self.starts = np.flatnonzero((np.diff(row, prepend=-1) != 0) | (np.diff(turbocharger, prepend=-1) != 0))
        # Days of which nothing is known weigh nothing in a mean.
        self.weight = pieces.days[order] * pieces.known[order]
        self.row, self.turbocharger = row[self.starts], turbocharger[self.starts]
        self.days = self._sum(pieces.days[order])
        self.known = self._sum(self.weight)
        self.truck_known = self._of_truck(self.known)

    def _sum(self, values: Floats) -> Floats:
        return np.add.reduceat(values, self.starts) if len(self.starts) else np.zeros(0)

    def _of_truck(self, values: Floats) -> Floats:
        return np.asarray(np.bincount(self.row, values, self.months), np.float64)

    def unit(self, name: str) -> Floats:
        """Mean of a column over each turbocharger's days in a month, shape (u,)."""
        total = self._sum(self.weight * getattr(self.pieces, name)[self.order])
        return np.asarray(total / np.maximum(self.known, 1e-12))

    def truck(self, name: str, known: np.ndarray) -> Floats:
        """Mean over positions and days, shape (c,)."""
        mean = self._of_truck(self.unit(name) * self.known) / np.maximum(self.truck_known, 1e-12)
        return np.where(known, mean, np.nan)

    def truck_sd(self, name: str, known: np.ndarray) -> Floats:
        """Of that mean: what is not known of one turbocharger is shared by its days, that of two is apart."""
        square = self._of_truck((self.unit(name) * self.known) ** 2)
        return np.where(known, np.sqrt(square) / np.maximum(self.truck_known, 1e-12), np.nan)

    def told(self) -> TruckTravel:
        days = self._of_truck(self.days)
        known = (self.truck_known > 0) & (self.truck_known >= ENOUGH_KNOWN * days)
        below, above = self.unit("p_below"), self.unit("p_above")
        likely = np.maximum(below, above)
        shortfall, excess = self.unit("shortfall_mm"), self.unit("excess_mm")
        foremost = self._foremost(np.where(likely >= LIKELY, 1 + shortfall + excess, 0.0))
        side = np.where(below >= above, Travel.OUTSIDE_LOW, Travel.OUTSIDE_HIGH)
        # One more at the end, which -1 picks for months without any.
        side = np.append(np.where(likely >= LIKELY, side, Travel.INSIDE), Travel.INSIDE)
        return TruckTravel(
            travel=np.where(known, side[foremost], Travel.UNKNOWN),
            turbocharger=np.append(self.turbocharger, -1)[foremost],
            shortfall_mm=self.truck("shortfall_mm", known),
            excess_mm=self.truck("excess_mm", known),
            shortfall_sd_mm=self.truck_sd("shortfall_sd_mm", known),
            excess_sd_mm=self.truck_sd("excess_sd_mm", known),
            plain_shortfall_mm=self.truck("plain_shortfall_mm", known),
            plain_excess_mm=self.truck("plain_excess_mm", known),
            place=self.truck("place", known),
            units=self._units(shortfall, excess, known),
        )

    def _foremost(self, out: Floats) -> Ints:
        """Place of each truck-month's turbocharger farthest out, then fitted longest; -1 without one."""
        order = np.lexsort((-self.turbocharger, self.days, out, self.row))
        found = np.full(self.months, -1)
        found[self.row[order]] = order
        return found

    def _units(self, shortfall: Floats, excess: Floats, known: np.ndarray) -> UnitMonths:
        keep = known[self.row] & (self.known > 0)
        out = (shortfall + excess) * self.known
        total, days = self._of_truck(out)[self.row], self.truck_known[self.row]
        share = np.where(total > 0, out / np.where(total > 0, total, 1.0), self.known / np.maximum(days, 1e-12))
        return UnitMonths(
            row=self.row[keep],
            turbocharger=self.turbocharger[keep],
            days=self.known[keep],
            shortfall_mm=shortfall[keep],
            excess_mm=excess[keep],
            shortfall_sd_mm=self.unit("shortfall_sd_mm")[keep],
            excess_sd_mm=self.unit("excess_sd_mm")[keep],
            share=share[keep],
        )
