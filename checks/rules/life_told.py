"""What is told of a group's lives: B10 with its limits, the curve with its band, and the steps."""

from dataclasses import dataclass

import numpy as np

from checks.rules.epochs import Floats
from checks.rules.life import Lives, fit_weibull
from checks.rules.survival import thinned, turnbull

# With fewer units seen outside no life is told (common practice, no source).
TOO_FEW = 5
B_SHARE = 0.1
# Shares that have left, at which limits of the curve are found; B10 is among them.
SHARES = (0.02, 0.05, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8)
GAP = 1e-6


@dataclass(frozen=True, slots=True)
class Limit:
    """Usage by which ``share`` have left, with 95 % limits: 0 or inf where the lives bound nothing."""

    share: float
    usage: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """A group: ``longest`` is the largest usage seen, ``late`` counts lives not followed from the beginning.

    ``limits`` has a row a share, empty with a ``reason``; ``steps`` are rows of [after, until, share still inside
    from there], between which the share is not known.
    """

    lives: int
    events: int
    late: int
    longest: float
    reason: str
    eta: float
    beta: float
    beta_limits: tuple[float, float]
    limits: tuple[Limit, ...]
    steps: tuple[tuple[float, float, float], ...]

    @property
    def b10(self) -> Limit | None:
        return next((row for row in self.limits if row.share == B_SHARE), None)


def tell(lives: Lives) -> Told:
    """Everything that is told of one group; at least one life."""
    reason, eta, beta, beta_limits = "", 0.0, 0.0, (0.0, 0.0)
    limits: tuple[Limit, ...] = ()
    if lives.events < TOO_FEW:
        reason = "too few"
    else:
        try:
            fit = fit_weibull(lives)
        except ValueError:
            reason = "no shape"
        else:
            eta, beta, beta_limits = fit.eta, fit.beta, fit.shape_limits()
            limits = tuple(Limit(share, fit.quantile(share), *fit.limits(share)) for share in SHARES)
    return Told(
        lives=len(lives.left), events=lives.events, late=int((lives.entry > 0).sum()), longest=longest(lives),
        reason=reason, eta=eta, beta=beta, beta_limits=beta_limits, limits=limits,
        steps=_steps(lives) if lives.events else (),
    )  # fmt: skip


def longest(lives: Lives) -> float:
    """The largest usage at which a unit was seen."""
    return float(np.where(np.isfinite(lives.right), lives.right, lives.left).max())


def _steps(lives: Lives) -> tuple[tuple[float, float, float], ...]:
    free = turnbull(thinned(lives), tolerance=GAP)
    return tuple(
        (float(begin), float(end), float(after))
        for begin, end, after in zip(free.begin, free.end, free.survival_after(), strict=True)
        if np.isfinite(end)
    )


def ticks(most: float, wanted: int = 6) -> Floats:
    """Round usages from 0 up to ``most``, about ``wanted`` of them."""
    rough = max(most, 1e-9) / wanted
    size = 10.0 ** np.floor(np.log10(rough))
    step = next(size * one for one in (1, 2, 2.5, 5, 10) if size * one >= rough)
    return np.asarray(np.arange(0, int(most / step) + 1) * step)
