"""Readings of many turbochargers, cut into epochs: from a fitting or an adjustment to the next."""

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

# Usage is scaled to order one before any fit: 100,000 km, or 2,000 engine hours, is one.
SCALE_KM = 100_000.0
SCALE_HOURS = 2_000.0


class Setting(IntEnum):
    """Who set the wastegate at the start of an epoch."""

    PLANT = 0
    WORKSHOP = 1


@dataclass(frozen=True, slots=True)
class Epochs:
    """Readings of ``units`` turbochargers, sorted by unit, epoch and usage.

    unit, epoch, usage, travel_mm, u_mm : shape (n,), per reading. ``unit`` and ``epoch`` count from 0 without
        gaps; ``usage`` is since the epoch's start, scaled; ``u_mm`` is the known standard uncertainty.
    epoch_unit, kind : shape (e,), per epoch with readings.
    current_kind : shape (units,), setting of the epoch that each unit is in now.
    current_epoch : shape (units,), its index, or -1 while it has no reading.
    """

    unit: Ints
    epoch: Ints
    usage: Floats
    travel_mm: Floats
    u_mm: Floats
    epoch_unit: Ints
    kind: Ints
    current_kind: Ints
    current_epoch: Ints

    @property
    def units(self) -> int:
        return len(self.current_kind)

    @property
    def first_epoch(self) -> Ints:
        """Index of each unit's first epoch with readings, shape (units,); -1 where it has none."""
        first = np.full(self.units, -1, dtype=np.int64)
        first[self.epoch_unit[::-1]] = np.arange(len(self.epoch_unit))[::-1]
        return first


def epochs_from_readings(
    unit: ArrayLike,
    epoch: ArrayLike,
    kind: ArrayLike,
    usage: ArrayLike,
    travel_mm: ArrayLike,
    u_mm: ArrayLike,
    *,
    current_epoch: ArrayLike,
    current_kind: ArrayLike,
) -> Epochs:
    """Sort and index readings.

    Parameters
    ----------
    unit, epoch, kind, usage, travel_mm, u_mm : shape (n,)
        Per reading: unit 0..units-1, the epoch's ordinal within the unit (any rising integers), its
        `Setting`, scaled usage since its start, travel and its standard uncertainty in mm.
    current_epoch, current_kind : shape (units,)
        The ordinal and `Setting` of the epoch in which each unit is now.

    Raises
    ------
    ValueError
        When lengths differ, a value is not finite, or an uncertainty is negative.
    """
    columns = [np.asarray(c, dtype=np.float64) for c in (unit, epoch, kind, usage, travel_mm, u_mm)]
    if len({len(c) for c in columns}) != 1:
        raise ValueError("unit, epoch, kind, usage, travel_mm and u_mm must have one length")
    if not all(np.isfinite(c).all() for c in columns) or (columns[5] < 0).any():
        raise ValueError("readings must be finite and uncertainties not negative")
    units, ordinals, kinds, usages, travels, us = columns
    order = np.lexsort((usages, ordinals, units))
    unit_, ordinal, kinds = units[order].astype(np.int64), ordinals[order].astype(np.int64), kinds[order]
    fresh = np.ones(len(unit_), dtype=bool)
    fresh[1:] = (unit_[1:] != unit_[:-1]) | (ordinal[1:] != ordinal[:-1])
    index = np.cumsum(fresh) - 1
    starts = np.flatnonzero(fresh)
    now = np.asarray(current_epoch, dtype=np.int64)
    held = np.full(len(now), -1, dtype=np.int64)
    live = ordinal[starts] == now[unit_[starts]]
    held[unit_[starts][live]] = np.flatnonzero(live)
    return Epochs(
        unit=unit_,
        epoch=index,
        usage=usages[order],
        travel_mm=travels[order],
        u_mm=us[order],
        epoch_unit=unit_[starts],
        kind=kinds[starts].astype(np.int64),
        current_kind=np.asarray(current_kind, dtype=np.int64),
        current_epoch=held,
    )


def every(data: Epochs, step: int) -> Epochs:
    """Every ``step``-th unit, for a first look at many."""
    reading, epoch = data.unit % step == 0, data.epoch_unit % step == 0
    renumbered = np.cumsum(epoch) - 1
    held = data.current_epoch[::step]
    return Epochs(
        unit=data.unit[reading] // step,
        epoch=renumbered[data.epoch[reading]],
        usage=data.usage[reading],
        travel_mm=data.travel_mm[reading],
        u_mm=data.u_mm[reading],
        epoch_unit=data.epoch_unit[epoch] // step,
        kind=data.kind[epoch],
        current_kind=data.current_kind[::step],
        current_epoch=np.where(held < 0, -1, renumbered[held]),
    )
