"""From a fitted model to the columns of its units' forecasts."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

import numpy as np

from checks.models import Forecast, Policy
from checks.rules import forecast as ahead
from checks.rules.epochs import Floats, Setting
from checks.selectors.drift import Life, ModelHistory

# The fan is drawn at so many usages, from the last reading on.
POINTS = 25
QUANTILES = (0.025, 0.25, 0.75, 0.975)
# The fan ends beyond the horizon or the due usage, whichever is later, but not farther than this, scaled.
FARTHEST = 5.0
BEYOND = 1.25
# How long a unit is called one that jumped.
JUMP_SHOWN = timedelta(days=180)


@dataclass(frozen=True, slots=True)
class Signs:
    """Per reading in the order of the fit: standardised innovation, jump or not, EWMA and its limit; shape (n,)."""

    z: Floats
    jump: np.ndarray
    ewma: Floats
    limit: Floats


@dataclass(frozen=True, slots=True)
class Outlooks:
    """Forecasts of one model's units, computed abreast; arrays have shape (units,), ``fan`` (points, 7, units)."""

    history: ModelHistory
    level: float
    travel: tuple[Floats, Floats]
    drift: tuple[Floats, Floats]
    p_now: tuple[Floats, Floats]
    p_horizon: Floats
    due: Floats
    fan: Floats
    signs: Signs
    bounds: np.ndarray

    @staticmethod
    def of(history: ModelHistory, found: ahead.Forecast, policy: Policy, signs: Signs) -> "Outlooks":
        """Look ahead for every unit of ``history``, which needs its window."""
        window, scale = history.window, history.scale
        if window is None:
            raise ValueError("a forecast needs the window of a revision in force")
        low, high = window.lower_mm, window.upper_mm
        lives = [
            (life.usage_now, life.looked_usage, life.use.km_per_day) if life else (0.0,) * 3 for life in history.lives
        ]
        now, looked, per_day = (np.array(column) / scale for column in zip(*lives, strict=True))
        horizon = now + policy.horizon_days * per_day
        due = ahead.due_usage(found, low, high, policy.risk_level, earliest=looked)
        end = np.maximum(horizon, np.where(np.isfinite(due), due, 0.0))
        end = np.clip(looked + BEYOND * (end - looked), looked + 0.01, np.maximum(looked, now) + FARTHEST)
        return Outlooks(
            history=history,
            level=policy.risk_level,
            travel=(found.mean_mm(now), found.sd_mm(now)),
            drift=found.slope_mm(),
            p_now=found.p_outside_by_side(now, low, high),
            p_horizon=found.p_outside(horizon, low, high),
            due=due * scale,
            fan=_fan(found, looked, end, low, high, scale),
            signs=signs,
            bounds=np.searchsorted(history.epochs.unit, np.arange(len(lives) + 1)),
        )

    @property
    def turbochargers(self) -> list[int]:
        return [life.turbocharger for life in self.history.lives if life]

    def rows(self, turbochargers: Sequence[int]) -> Iterator[dict[str, Any]]:
        """Columns of the forecasts of some units."""
        wanted = set(turbochargers)
        for place, life in enumerate(self.history.lives):
            if life and life.turbocharger in wanted:
                yield self._row(place, life)

    def _row(self, place: int, life: Life) -> dict[str, Any]:
        below, above = (float(side[place]) for side in self.p_now)
        due = float(self.due[place])
        signs = self._signs_of(place)
        return {
            "turbocharger_id": life.turbocharger,
            "last_check_id": life.last_check,
            "setting": Forecast.Setting.PLANT if life.setting == Setting.PLANT else Forecast.Setting.WORKSHOP,
            "epoch_began_on": life.began_on,
            "epoch_began_usage": life.began_meter,
            "usage_now": round(life.usage_now, 3),
            "readings": life.readings,
            "travel_now_mm": _short(self.travel[0][place]),
            "travel_now_sd_mm": _short(self.travel[1][place]),
            "drift_mm": _short(self.drift[0][place]),
            "drift_u_mm": _short(self.drift[1][place]),
            "p_below_now": _chance(below),
            "p_above_now": _chance(above),
            "level": self.level,
            "due_usage": round(due, 3) if np.isfinite(due) else None,
            "p_outside_at_horizon": _chance(self.p_horizon[place]),
            "jumped": self._jumped(place),
            "path": [[round(row[0], 1), *(round(v, 5) for v in row[1:])] for row in self.fan[:, :, place].tolist()],
            "innovations": signs,
        }

    def _jumped(self, place: int) -> bool:
        """Whether a reading of late was a jump; one that was mended long ago is left to the history."""
        since = self.history.today - JUMP_SHOWN
        rows = range(self.bounds[place], self.bounds[place + 1])
        return any(bool(self.signs.jump[row]) and self.history.sources[row][2] >= since for row in rows)

    def _signs_of(self, place: int) -> list[list[Any]]:
        rows = range(self.bounds[place], self.bounds[place + 1])
        s = self.signs
        return [
            [*self.history.sources[row][:2], round(float(s.z[row]), 4), bool(s.jump[row]), round(float(s.ewma[row]), 4),
             round(float(s.limit[row]), 4)]
            for row in rows
        ]  # fmt: skip


def _fan(found: ahead.Forecast, begin: Floats, end: Floats, low: float, high: float, scale: float) -> Floats:
    """Rows of usage, mean, four quantiles and chance outside; shape (points, 7, units)."""
    fan = np.empty((POINTS, 7, found.units))
    for row, share in enumerate(np.linspace(0.0, 1.0, POINTS)):
        at = begin + share * (end - begin)
        quantiles = (found.quantile_mm(at, q) for q in QUANTILES)
        fan[row] = np.stack([at * scale, found.mean_mm(at), *quantiles, found.p_outside(at, low, high)])
    return fan


def _short(value: Any) -> float:
    """Six decimals: a nanometre, so that a rebuild gives the same digits."""
    return max(1e-6, round(float(value), 6)) if value >= 0 else round(float(value), 6)


def _chance(value: Any) -> float:
    return min(1.0, max(0.0, round(float(value), 6)))
