"""Fitting a model's drift and looking ahead."""

from typing import Any

from django.utils import timezone

from checks.selectors.stale import SWEEP, awaiting_forecast, stale_models, unforecast, was_swept
from checks.services.drift import CHUNK as FORECASTS
from checks.services.drift import prepare, store_fit, store_forecasts
from checks.services.drift_request import request_refit
from checks.services.fuel_request import request_fuel_fit
from checks.services.life_request import request_life
from checks.services.plan import replan
from fleet.jobs.requests import enqueue
from fleet.jobs.run import PutOff, Run
from fleet.models import Job, TurbochargerModel

CHUNK = 250
# Under a stream of checks a model rests between two refits, the longer the larger it is: one of 10,000 units for 100 s.
REST_S_A_UNIT, SHORTEST_REST_S, LONGEST_REST_S = 0.01, 10.0, 120.0
# Usage moves on every day; the fleet is looked over when nobody works, or at the first beat after.
SWEEP_HOUR = 2


def refit_model(run: Run) -> dict[str, Any]:
    """Fit a model's drift, then forecast and plan its units: those just checked first, the others chunk by chunk.

    Arguments: ``model``, its primary key. A chunk is [tag of the numbers, last unit done]; when the readings changed
    while no worker held the job it begins anew, so that no unit keeps a forecast from older ones.

    Raises
    ------
    PutOff : the model was refitted only just now, so that checks that keep coming do not keep a worker busy.
    """
    if run.chunk is None and (rest_s := _rest_s(run)):
        raise PutOff(rest_s)
    model = TurbochargerModel.objects.get(pk=run.arguments["model"])
    run.beat(message=f"reading {model}")
    prepared = prepare(model)
    units, total = prepared.turbochargers, len(prepared.turbochargers)
    tag, after = run.chunk or ("", 0)
    first: list[int] = []
    if tag != prepared.tag:
        known, after = set(units), 0
        first = [pk for pk in awaiting_forecast(model) if pk in known][:FORECASTS]
        with run.step(chunk=[prepared.tag, 0], done=len(first), total=total, message="those just checked"):
            store_forecasts(prepared, store_fit(prepared), first)
    fit = store_fit(prepared)
    done = len(first) + sum(pk <= after for pk in units)
    rest = [pk for pk in units if pk > after and pk not in set(first)]
    for start in range(0, len(rest), FORECASTS):
        chunk = rest[start : start + FORECASTS]
        done += len(chunk)
        with run.step(chunk=[prepared.tag, chunk[-1]], done=min(done, total), total=total, message=f"{done} units"):
            store_forecasts(prepared, fit, chunk)
    readings = len(prepared.history.epochs.usage)
    request_fuel_fit()
    request_life(model.pk)
    return {"units": total, "readings": readings, "left_out": len(prepared.history.left_out), "fit": fit and fit.pk}


def _rest_s(run: Run) -> float:
    """How much of its rest the model has left."""
    before = Job.objects.filter(kind=run.kind, key=run.key, state=Job.State.DONE).order_by("-pk")
    last = before.values_list("finished_at", "result").first() if run.key else None
    if last is None or last[0] is None:
        return 0.0
    rest_s = min(REST_S_A_UNIT * (last[1] or {}).get("units", 0), LONGEST_REST_S)
    left_s = rest_s - (timezone.now() - last[0]).total_seconds()
    return left_s if rest_s >= SHORTEST_REST_S and left_s > 0 else 0.0


def sweep(run: Run) -> dict[str, Any]:
    """Ask for a refit of every model, and plan anew the units that have no forecast; the others' refit plans them."""
    after = run.chunk or 0
    if not after:
        request_refit(TurbochargerModel.objects.values_list("pk", flat=True), delay_s=0)
    wanted, done = unforecast(), 0
    total = wanted.count()
    while ids := list(wanted.filter(pk__gt=after).values_list("pk", flat=True)[:CHUNK]):
        after, done = ids[-1], done + len(ids)
        with run.step(chunk=after, done=done, total=max(total, done), message=f"{done} units planned"):
            replan(ids)
    request_fuel_fit()
    return {"planned": done}


def refit_stale() -> None:
    """Have every model refitted whose fitments, specification, policy or checks the register overtook."""
    request_refit(stale_models())


def sweep_nightly() -> None:
    """Ask for the night's sweep, once a day."""
    now = timezone.localtime()
    if now.hour >= SWEEP_HOUR and not was_swept(now.date()):
        enqueue(kind=SWEEP, arguments={}, key=f"night of {now.date()}")
