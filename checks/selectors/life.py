"""Lives until outside, as the records tell them: one for each setting of each unit.

A setting begins when a unit is first fitted, or when its rod is turned, and is followed from then on if it is known to
have been inside. Where the beginning was not watched it is followed from the first check that finds it inside, at the
use it has run by then: after a fitting long before records begin, after the unit went to another engine, and after a
turn that was not left inside. Taking the unit off ends what is known; so does the last check.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import inf, isnan

from django.db.models import Min

from checks.models import Assessment, Check, LifeFit
from checks.models.forecast import Basis
from checks.selectors.policy import current_policy
from checks.selectors.seen import Seen, past_of
from checks.selectors.usage import BACKWARD_SHARE, SCALES, Engines, noon
from fleet.models import Fitment, Turbocharger, TurbochargerModel

State = Assessment.State
OUTSIDE = (State.OUTSIDE_LOW, State.OUTSIDE_HIGH)
PLANT, WORKSHOP = "plant", "workshop"
UNSEEN = "not looked at yet"
ONCE = "looked at once, when they began to be followed"
OUT_AT_FIRST = "found outside at the first look, when they left is not known"
AT_ONCE = "outside before any use"
NO_METER = "without a meter reading near enough to their checks or their beginning"


@dataclass(frozen=True, slots=True)
class SettingLife:
    """One life; usages since the setting began in the basis' unit, ``right`` inf while it is inside."""

    turbocharger: int
    depot: int
    origin: str
    setting: str
    entry: float
    left: float
    right: float


@dataclass(frozen=True, slots=True)
class ModelLives:
    """The lives of one model in one basis, and what tells nothing with the reason."""

    model: int
    basis: Basis
    rows: tuple[SettingLife, ...]
    left_out: dict[str, int]


@dataclass(slots=True)
class _Part:
    """A setting on one engine. ``begun``: usage of the engine when this part began; ``before``: run before it."""

    setting: str
    followed: bool
    begun: float
    before: float = 0.0
    entry: float | None = None
    left: float = 0.0
    right: float = inf
    looks: int = 0
    unread: int = 0
    out_first: bool = False

    def look(self, state: str, at: float, slack: float) -> None:
        """Take in a verdict at a usage of the engine."""
        if self.right < inf or self.out_first or state not in (State.INSIDE, *OUTSIDE):
            return
        usage = self.before + at - self.begun
        if isnan(usage) or usage < self.before - slack:
            self.unread += 1
            return
        usage, self.looks = max(usage, 0.0), self.looks + 1
        if self.entry is None:
            self.entry = 0.0 if self.followed else usage if state == State.INSIDE else None
        if self.entry is None:
            self.out_first = True
        elif state == State.INSIDE:
            self.left = max(self.left, usage)
        else:
            self.right = usage
            self.left = min(self.left, usage)

    def fault(self) -> str:
        """Why it tells nothing; empty where it tells something."""
        if self.out_first:
            return OUT_AT_FIRST
        if not self.looks:
            return NO_METER if self.unread else UNSEEN
        if self.right <= (self.entry or 0.0):
            return AT_ONCE
        return ONCE if self.right == inf and self.left <= (self.entry or 0.0) else ""


def model_lives(model: TurbochargerModel, basis: Basis) -> ModelLives:
    """Read every life of a model; nine queries whatever its size."""
    policy = current_policy()
    past = past_of(model, basis, policy)
    begun = _records_begin()
    watched = timedelta(days=policy.first_look_days)
    rows: list[SettingLife] = []
    left_out: Counter[str] = Counter()
    units = Turbocharger.objects.filter(model=model).order_by("pk").values_list("pk", "depot", "origin")
    for pk, depot, origin in units:
        since = begun.get(depot, min(begun.values(), default=date.max))
        fitted = past.fitted.get(pk, [])
        late = bool(fitted) and fitted[0].fitted_on < since - watched
        for part in _parts(fitted, past.checks_of.get(pk, ()), past.engines, SCALES[basis], late=late):
            if fault := part.fault():
                left_out[fault] += 1
            else:
                rows.append(SettingLife(pk, depot, origin, part.setting, part.entry or 0.0, part.left, part.right))
    return ModelLives(model.pk, basis, tuple(rows), dict(sorted(left_out.items())))


def _records_begin() -> dict[int, date]:
    """Day of each depot's first check; one query."""
    first = Check.objects.order_by().values_list("depot").annotate(first=Min("made_at"))
    return {depot: at.date() for depot, at in first}


def _parts(
    fitments: Sequence[Fitment], checks: Iterable[Seen], engines: Engines, scale: float, *, late: bool
) -> list[_Part]:
    """One unit's settings in the order of time, cut where the unit came off."""
    of_fitment: dict[int | None, list[Seen]] = defaultdict(list)
    for check in checks:
        of_fitment[check.fitment].append(check)
    parts: list[_Part] = []
    setting, run, slack = PLANT, 0.0, BACKWARD_SHARE * scale
    for nth, fitment in enumerate(fitments):
        line = engines.line(fitment.engine_id)
        part = _Part(setting, nth == 0 and not late, line.at(noon(fitment.fitted_on)), run)
        parts.append(part)
        for check in of_fitment[fitment.pk]:
            part = _seen(parts, part, check, line.at(check.at), slack)
        ended = line.at(noon(fitment.removed_on)) if fitment.removed_on else float("nan")
        setting, run = part.setting, part.before + ended - part.begun
    return parts


def _seen(parts: list[_Part], part: _Part, check: Seen, at: float, slack: float) -> _Part:
    """Take in a check; a turn of the rod begins another setting, which is returned."""
    for moment in ("as_found", "as_left"):
        if moment == "as_left" and check.half_turns:
            left = check.strokes.get("as_left", (State.VOID,))[0]
            part = _Part(WORKSHOP, left == State.INSIDE, at)
            parts.append(part)
        elif moment in check.strokes:
            part.look(check.strokes[moment][0], at, slack)
    return part


def life_fits(basis: str) -> dict[int | None, LifeFit]:
    """What is kept of each model in a basis, and under None what compares them; one query, rows of lives left out."""
    kept = LifeFit.objects.filter(basis=basis).select_related("turbocharger_model").defer("rows")
    return {fit.turbocharger_model_id: fit for fit in kept}
