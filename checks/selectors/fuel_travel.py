"""What every turbocharger did in every month on its truck, by the drift model and all readings."""

from collections import defaultdict
from dataclasses import dataclass
from math import isnan
from typing import Any

import numpy as np
from django.utils import timezone

from checks.models import DriftFit, SpecificationRevision
from checks.rules.epochs import Floats, Ints
from checks.rules.smoothing import Lines, Outside, Stretches, expected_outside, fit_at, lines_of
from checks.rules.truck_travel import Pieces, joined
from checks.selectors.drift import ModelHistory, model_history
from checks.selectors.usage import Engines, noon
from fleet.models import Installation, TurbochargerModel
from fleet.selectors.trips import month_begins, month_of

DAY_S = 86_400
# A stay of an engine in a truck: truck, from and to in days since 1970.
Stay = tuple[int, float, float]


@dataclass(frozen=True, slots=True)
class TravelRead:
    """Pieces of all models, and the drift fits that they rest on."""

    pieces: Pieces
    fits: list[int]


def travel_of_fleet(first_month: int, last_month: int) -> TravelRead:
    """Every stay of every turbocharger on a truck from one month to another, cut by months.

    Its queries are as many whatever the number of units: ten a turbocharger model and three in all.
    """
    stays: dict[int, list[Stay]] = defaultdict(list)
    rows = Installation.objects.order_by("installed_on", "pk")
    for engine, truck, begin, end in rows.values_list("engine", "truck", "installed_on", "removed_on"):
        stays[engine].append((truck, noon(begin) - 0.5, noon(end) if end else np.inf))
    fits = {row.turbocharger_model_id: row for row in DriftFit.objects.filter(is_current=True)}
    windows = _windows()
    span = (first_month, last_month)
    parts = [
        _pieces_of(model_history(model), fits.get(model.pk), windows.get(model.pk), stays, span)
        for model in TurbochargerModel.objects.order_by("pk")
    ]
    return TravelRead(joined(parts or [_cut([], [], span).unknown()]), sorted(fit.pk for fit in fits.values()))


@dataclass(frozen=True, slots=True)
class _Windows:
    """A model's windows by the day they took effect; before the first, the first."""

    begins: Ints
    lower: Floats
    upper: Floats

    def at(self, day: Floats) -> tuple[Floats, Floats]:
        place = np.maximum(np.searchsorted(self.begins, day, side="right") - 1, 0)
        return self.lower[place], self.upper[place]


def _windows() -> dict[int, _Windows]:
    rows: dict[int, list[Any]] = defaultdict(list)
    columns = ("turbocharger_model", "effective_from", "lower_mm", "upper_mm")
    for model, day, low, high in SpecificationRevision.objects.order_by("effective_from", "pk").values_list(*columns):
        rows[model].append((noon(day) - 0.5, low, high))
    return {model: _Windows(*np.array(found).T) for model, found in rows.items()}


@dataclass(frozen=True, slots=True)
class _Cut:
    """Stays cut by months; shapes (p,). ``stretch``: place among the model's; ``day``: the middle of each piece."""

    stretch: Ints
    truck: Ints
    turbocharger: Ints
    month: Ints
    days: Floats
    day: Floats

    def unknown(self) -> Pieces:
        """Pieces of which nothing is known."""
        none = np.zeros(len(self.days))
        return self.pieces(none > 0, Outside(*[none] * 9), none)

    def pieces(self, known: np.ndarray, found: Outside, place: Floats) -> Pieces:
        """Pieces with what is expected of travel, and where its mean stands in the window."""
        return Pieces(
            truck=self.truck,
            month=self.month,
            turbocharger=self.turbocharger,
            days=self.days,
            known=known,
            shortfall_mm=found.shortfall_mm,
            excess_mm=found.excess_mm,
            shortfall_sd_mm=found.shortfall_sd_mm,
            excess_sd_mm=found.excess_sd_mm,
            p_below=found.p_below,
            p_above=found.p_above,
            plain_shortfall_mm=found.plain_shortfall_mm,
            plain_excess_mm=found.plain_excess_mm,
            place=place,
        )


def _pieces_of(
    history: ModelHistory,
    fit: DriftFit | None,
    windows: _Windows | None,
    stays: dict[int, list[Stay]],
    span: tuple[int, int],
) -> Pieces:
    rows, held = [], []
    for nth, stretch in enumerate(history.stretches):
        for truck, begin, end in stays.get(stretch.engine, ()):
            begin, end = max(begin, stretch.began), min(end, stretch.ended)
            if begin < end:
                rows.append((nth, truck, stretch.turbocharger))
                held.append((begin, end))
    cut = _cut(rows, held, span)
    if fit is None or windows is None or not len(history.epochs.usage) or not len(cut.days):
        return cut.unknown()
    usage = _usage(history, cut) / history.scale
    low, high = windows.at(cut.day)
    found = expected_outside(_lines(history, fit), cut.stretch, usage, low, high)
    return cut.pieces(_is_read(history)[cut.stretch], found, (found.travel_mm - low) / (high - low))


def _cut(rows: list[tuple[int, int, int]], held: list[tuple[float, float]], span: tuple[int, int]) -> _Cut:
    table = np.array(rows, np.int64).reshape(-1, 3)
    first_s, last_s = month_begins(np.array([span[0], span[1] + 1]))
    now = noon(timezone.localdate()) + 0.5
    stretch_of = np.array(held, np.float64).reshape(-1, 2)
    begin = np.maximum(stretch_of[:, 0], first_s / DAY_S)
    end = np.minimum(stretch_of[:, 1], min(last_s / DAY_S, now))
    row = np.flatnonzero(begin < end)
    lowest = month_of((begin[row] * DAY_S).astype(np.int64))
    months = month_of(np.ceil(end[row] * DAY_S).astype(np.int64) - 1) - lowest + 1
    of = np.repeat(row, months)
    month = np.repeat(lowest, months) + np.arange(len(of)) - np.repeat(np.cumsum(months) - months, months)
    begin = np.maximum(begin[of], month_begins(month) / DAY_S)
    end = np.minimum(end[of], month_begins(month + 1) / DAY_S)
    return _Cut(table[of, 0], table[of, 1], table[of, 2], month, end - begin, (begin + end) / 2)


def _lines(history: ModelHistory, fit: DriftFit) -> Lines:
    said = fit.estimates
    stretches = Stretches(
        unit=np.array([one.unit for one in history.stretches], np.int64),
        epoch=np.array([one.epoch for one in history.stretches], np.int64),
        kind=np.array([one.setting for one in history.stretches], np.int64),
    )
    held = fit_at(history.epochs, np.array(said["theta"]), np.array(said["beta"]), np.array(said["cov"]))
    return lines_of(held, stretches)


def _is_read(history: ModelHistory) -> np.ndarray:
    """Whether the fitting of each stretch has a reading at all: without one, travel there is only the model's mean."""
    read = {one.fitment for one in history.stretches if one.epoch >= 0}
    return np.array([one.fitment in read for one in history.stretches], bool)


def _usage(history: ModelHistory, cut: _Cut) -> Floats:
    """Usage since the stretch began at the middle of each piece, in the basis' unit; shape (p,)."""
    usage = np.empty(len(cut.day))
    order = np.argsort(cut.stretch, kind="stable")
    bounds = np.flatnonzero(np.diff(cut.stretch[order], prepend=-1, append=-1))
    for begin, end in zip(bounds[:-1].tolist(), bounds[1:].tolist(), strict=True):
        rows = order[begin:end]
        stretch = history.stretches[cut.stretch[rows[0]]]
        run = _run_at(history.engines, stretch.engine, np.append(cut.day[rows], stretch.began))
        start = run[-1] if isnan(stretch.start) else stretch.start
        usage[rows] = np.maximum(run[:-1] - start, 0.0)
    return usage


def _run_at(engines: Engines, engine: int, day: Floats) -> Floats:
    """What an engine had run; beyond its first and last meter reading at its rate of use."""
    line, rate = engines.line(engine), engines.use(engine).km_per_day
    if not line.days:
        return np.asarray(day * rate)
    run = np.interp(day, line.days, line.run)
    return np.asarray(run + rate * (np.minimum(day - line.days[0], 0.0) + np.maximum(day - line.days[-1], 0.0)))
