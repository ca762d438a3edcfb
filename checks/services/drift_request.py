"""Asking for models' drift to be fitted: loads nothing of what fitting needs."""

from collections.abc import Iterable

from checks.selectors.stale import REFIT
from fleet.jobs.requests import enqueue

# A burst of checks is one refit.
DEBOUNCE_S = 3.0


def request_refit(model_ids: Iterable[int], *, delay_s: float = DEBOUNCE_S) -> None:
    """Have models refitted as jobs, once the burst of what touches them is over."""
    for model in sorted(set(model_ids)):
        enqueue(kind=REFIT, arguments={"model": model}, key=f"model {model}", delay_s=delay_s)
