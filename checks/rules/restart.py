"""Looking ahead after a jump: what came before says nothing of the present setting, only of the drift."""

from dataclasses import replace

import numpy as np

from checks.rules.chart import Innovations
from checks.rules.epochs import Epochs, Ints
from checks.rules.forecast import Forecast


def restarted(found: Forecast, data: Epochs, seen: Innovations) -> Forecast:
    """Let the line of every unit that jumped in its present epoch start from its readings since the last jump.

    Their weighted mean, each carried along the unit's drift, becomes the line there; its variance is that of the
    readings (u^2 + sigma^2), and the drift keeps its own. A jump that was a slip comes back as a second one, from
    which the line starts again.
    """
    since = _since_last_jump(data, seen)
    if not len(since):
        return found
    unit, usage = data.unit[since], data.usage[since]
    weight = 1.0 / (found.process + data.u_mm[since] ** 2)
    units = np.unique(unit)
    starts = np.flatnonzero(np.diff(unit, prepend=-1))
    total = np.add.reduceat(weight, starts, axis=1)
    centre = np.add.reduceat(weight * usage, starts, axis=1) / total
    level = np.add.reduceat(weight * data.travel_mm[since], starts, axis=1) / total
    slope, v2 = found.slope[:, units], found.v2[:, units]
    intercept, v0, v1 = found.intercept.copy(), found.v0.copy(), found.v1.copy()
    intercept[:, units] = level - slope * centre
    v0[:, units] = 1.0 / total + v2 * centre**2
    v1[:, units] = -v2 * centre
    return replace(found, intercept=intercept, v0=v0, v1=v1)


def _since_last_jump(data: Epochs, seen: Innovations) -> Ints:
    """Readings of present epochs from the epoch's last jump on, in the order of the data."""
    rows = np.arange(len(data.unit))
    last = np.full(len(data.epoch_unit), -1)
    jumps = np.flatnonzero(seen.jumps)
    last[data.epoch[jumps]] = jumps
    present = data.current_epoch[data.unit] == data.epoch
    return np.flatnonzero(present & (last[data.epoch] >= 0) & (rows >= last[data.epoch]))
