"""Lives until outside."""

from typing import Any

from checks.models.forecast import Basis
from checks.services.life import compare_models, prepare_life, store_life
from fleet.jobs.run import Run
from fleet.models import TurbochargerModel


def tell_life(run: Run) -> dict[str, Any]:
    """Tell a model's lives in both bases, then set the models against each other; argument: ``model``, its key."""
    model = TurbochargerModel.objects.get(pk=run.arguments["model"])
    told = []
    for nth, basis in enumerate(Basis):
        run.beat(done=nth, total=len(Basis), message=f"reading {model} by {basis.label}")
        told.append(prepare_life(model, basis, beat=run.beat))
    with run.step(chunk="kept", done=len(Basis), total=len(Basis), message="lives told"):
        store_life(told)
        compare_models()
    return {"lives": told[0].lives}
