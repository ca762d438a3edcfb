"""The readings of one turbocharger model as epochs for the drift fit, and what each unit goes through now.

Long because a unit's readings, stretches and present life come out of one walk through its fitments and checks.
"""

import hashlib
from dataclasses import dataclass, replace
from datetime import date
from math import inf, isnan
from typing import Any

import numpy as np
from django.utils import timezone

from checks.models import Assessment, SpecificationRevision
from checks.models.forecast import Basis
from checks.rules.epochs import Epochs, Setting, epochs_from_readings
from checks.rules.meters import Line
from checks.rules.recheck.unit import Use
from checks.selectors.policy import current_policy
from checks.selectors.seen import Seen, past_of
from checks.selectors.specification import revision_in_force
from checks.selectors.usage import BACKWARD_SHARE, COLUMNS, SCALES, Engines, noon
from fleet.models import Fitment, Turbocharger, TurbochargerModel

NO_FITMENT = "It was fitted to no engine then."
VOID = "The stroke was void."
NO_METER = "No meter reading is near enough to the check or to the beginning of its epoch."
BACKWARD = "Its meter is below the one at the beginning of its epoch."


@dataclass(frozen=True, slots=True, kw_only=True)
class Life:
    """Where one turbocharger is in its present epoch. Usages are in the basis' unit, since the epoch's start.

    ``looked_usage`` is that of its last reading, 0 without one. ``estimated``: no meter tells the usage so far, so it
    is reckoned from days at the rate of use. ``readings`` counts those of all its epochs that were used.
    """

    turbocharger: int
    last_check: int | None
    setting: Setting
    began_on: date
    began_meter: float | None
    looked_usage: float
    usage_now: float
    estimated: bool
    readings: int
    use: Use


@dataclass(frozen=True, slots=True)
class Stretch:
    """From a fitting or an adjustment to the next. ``unit``: place among the lives; ``epoch``: place among the epochs
    with readings, -1 without. Moments are days since 1970, ``ended`` inf while it lasts; ``start`` is the engine's
    usage when it began, nan where no meter tells it.
    """

    turbocharger: int
    unit: int
    epoch: int
    setting: Setting
    fitment: int
    engine: int
    began: float
    ended: float
    start: float


@dataclass(frozen=True, slots=True)
class ModelHistory:
    """One model's readings. ``lives`` has a row per unit of ``epochs``; ``sources`` a (check, moment, day) per reading.
    ``stretches`` are all epochs, those without a reading too, by unit and time; ``engines`` what their engines ran.

    ``left_out`` says which readings were not used and why; ``window`` is that of the revision in force, if any;
    ``inputs`` is the digest of everything that a fit depends on.
    """

    model: int
    basis: Basis
    today: date
    lives: tuple[Life | None, ...]
    epochs: Epochs
    sources: tuple[tuple[int, str, date], ...]
    left_out: tuple[dict[str, Any], ...]
    window: SpecificationRevision | None
    inputs: str
    stretches: tuple[Stretch, ...]
    engines: Engines

    @property
    def scale(self) -> float:
        """What one scaled usage is in the basis' unit."""
        return SCALES[self.basis]


def model_history(model: TurbochargerModel) -> ModelHistory:
    """Read everything that drift of a model is derived from; ten queries whatever its size."""
    policy, today = current_policy(), timezone.localdate()
    basis = Basis(policy.usage_basis)
    past = past_of(model, basis, policy)
    sheet = _Sheet(basis, today, past.engines)
    for check in past.checks:
        if check.fitment is None:
            sheet.leave_out(check, NO_FITMENT)
    units = Turbocharger.objects.filter(model=model).order_by("pk")
    for pk, scrapped_on in units.values_list("pk", "scrapped_on"):
        if pk in past.fitted:
            sheet.add_unit(pk, past.fitted[pk], past.checks_of.get(pk, []), scrapped=scrapped_on is not None)
    return sheet.finished(model, revision_in_force(model, today))


class _Sheet:
    """Collects rows unit by unit; a unit's life is one walk through its fitments and checks."""

    def __init__(self, basis: Basis, today: date, engines: Engines) -> None:
        self.basis, self.today, self.engines = basis, today, engines
        self.scale = SCALES[basis]
        self.rows: list[tuple[int, int, int, float, float, float]] = []
        self.sources: list[tuple[int, str, date]] = []
        self.lives: list[Life | None] = []
        self.current: list[tuple[int, int]] = []
        self.stretches: list[tuple[int, Stretch]] = []
        self.left_out: list[dict[str, Any]] = []

    def leave_out(self, check: Seen, reason: str, stroke: str = "") -> None:
        self.left_out.append({"check": check.check, "moment": stroke, "reason": reason})

    def add_unit(self, pk: int, fitments: list[Fitment], checks: list[Seen], *, scrapped: bool) -> None:
        """Walk through one turbocharger's life. A scrapped one lends its readings and gets no forecast."""
        unit, before = len(self.lives), len(self.rows)
        ordinal, kind = -1, Setting.PLANT
        for fitment in fitments:
            line, ordinal = self.engines.line(fitment.engine_id), ordinal + 1
            began_on, start = fitment.fitted_on, line.at(noon(fitment.fitted_on))
            meter, looked = self._meter_at(fitment, line, start), 0.0
            self._begin(unit, ordinal, kind, fitment, noon(began_on), start)
            for check in checks:
                if check.fitment != fitment.pk:
                    continue
                at = line.at(check.at)
                for stroke in ("as_found", "as_left"):
                    if stroke == "as_left" and stroke in check.strokes and check.half_turns:
                        ordinal, kind, start, looked = ordinal + 1, Setting.WORKSHOP, at, 0.0
                        began_on, meter = check.made_at.date(), check.meter
                        self._begin(unit, ordinal, kind, fitment, check.at, start)
                        usage: float = 0.0
                    else:
                        usage = at - start
                    if stroke in check.strokes and self._add(unit, ordinal, kind, usage, check, stroke):
                        looked = max(looked, usage)
        self.current.append((max(ordinal, 0), int(kind)))
        run, estimated = self._run_since(fitments[-1], line, start, began_on)
        self.lives.append(
            None
            if scrapped
            else Life(
                turbocharger=pk, last_check=checks[-1].check if checks else None, setting=kind, began_on=began_on,
                began_meter=meter, looked_usage=looked, usage_now=max(run, looked), estimated=estimated,
                readings=len(self.rows) - before, use=self.engines.use(fitments[-1].engine_id),
            )
        )  # fmt: skip

    def _begin(self, unit: int, ordinal: int, kind: Setting, fitment: Fitment, at: float, start: float) -> None:
        """Open a stretch; the one before it in the same fitting ends there."""
        ended = noon(fitment.removed_on) if fitment.removed_on else inf
        if self.stretches and self.stretches[-1][1].fitment == fitment.pk:
            self.stretches[-1] = (self.stretches[-1][0], replace(self.stretches[-1][1], ended=at))
        opened = Stretch(
            turbocharger=fitment.turbocharger_id, unit=unit, epoch=-1, setting=kind, fitment=fitment.pk,
            engine=fitment.engine_id, began=at, ended=ended, start=start,
        )  # fmt: skip
        self.stretches.append((ordinal, opened))

    def _add(self, unit: int, ordinal: int, kind: Setting, usage: float, check: Seen, stroke: str) -> bool:
        state, travel, u = check.strokes[stroke]
        if state == Assessment.State.VOID or travel is None or u is None:
            self.leave_out(check, VOID, stroke)
        elif isnan(usage):
            self.leave_out(check, NO_METER, stroke)
        elif usage < -BACKWARD_SHARE * self.scale:
            self.leave_out(check, BACKWARD, stroke)
        else:
            self.rows.append((unit, ordinal, int(kind), max(usage, 0.0) / self.scale, travel, u))
            self.sources.append((check.check, stroke, check.made_at.date()))
            return True
        return False

    def _meter_at(self, fitment: Fitment, line: Line, start: float) -> float | None:
        given: float | None = getattr(fitment, f"fitted_{COLUMNS[self.basis]}")
        return given if given is not None or isnan(start) or not line.whole else start

    def _run_since(self, fitment: Fitment, line: Line, start: float, began_on: date) -> tuple[float, bool]:
        """Usage from the epoch's start to now, or to its removal, and whether it had to be reckoned from days."""
        use = self.engines.use(fitment.engine_id)
        end = noon(fitment.removed_on) if fitment.removed_on else noon(self.today)
        at = line.at(end) if fitment.removed_on else self._now(line, use, end)
        if isnan(at) or isnan(start):
            return max(0.0, end - noon(began_on)) * use.km_per_day, True
        return max(0.0, at - start), False

    @staticmethod
    def _now(line: Line, use: Use, end: float) -> float:
        """After the last reading it runs at its rate of use."""
        return line.run[-1] + max(0.0, end - line.days[-1]) * use.km_per_day if line.days else float("nan")

    def finished(self, model: TurbochargerModel, window: SpecificationRevision | None) -> ModelHistory:
        table = np.array(self.rows, dtype=np.float64).reshape(-1, 6)
        order = np.lexsort((table[:, 3], table[:, 1], table[:, 0]))
        current = np.array(self.current, dtype=np.int64).reshape(-1, 2)
        epochs = epochs_from_readings(*table[order].T, current_epoch=current[:, 0], current_kind=current[:, 1])
        read = dict.fromkeys(map(tuple, table[order][:, :2].astype(np.int64).tolist()))
        epoch_of = {place: epoch for epoch, place in enumerate(read)}
        digest = hashlib.sha256(f"{model.pk} {self.basis}".encode())
        for part in (table[order], current):
            digest.update(np.ascontiguousarray(part).tobytes())
        return ModelHistory(
            model=model.pk, basis=self.basis, today=self.today, lives=tuple(self.lives), epochs=epochs,
            sources=tuple(self.sources[place] for place in order), left_out=tuple(self.left_out), window=window,
            inputs=digest.hexdigest(), engines=self.engines,
            stretches=tuple(replace(one, epoch=epoch_of.get((one.unit, nth), -1)) for nth, one in self.stretches),
        )  # fmt: skip
