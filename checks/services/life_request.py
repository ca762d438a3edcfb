"""Asking for a model's lives to be told: loads nothing of what telling needs."""

from fleet.jobs.requests import enqueue

KIND = "fit-life"
# A burst of checks is one fit.
DEBOUNCE_S = 60.0


def request_life(model: int) -> None:
    """Have a model's lives told anew, once the burst of what touches them is over."""
    enqueue(kind=KIND, arguments={"model": model}, key=f"model {model}", delay_s=DEBOUNCE_S)
