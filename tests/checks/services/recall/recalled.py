"""Instruments that come back wrong."""

from datetime import date

from checks.models import Recall
from checks.services.certificate import add_certificate
from checks.services.check import record_check
from fleet.jobs.tasks import run_job
from fleet.models import Job
from tests.bay import make_bay

BACK = date(2025, 7, 1)


def checked(bay, day="2025-03-04", travel="59.5", **changes):
    moment = f"{day}T09:30:00+00:00"
    payload = bay.submission(
        travel=travel, made_at=moment, cautions_read_at=moment, odometer=None, engine_hours=None, **changes
    )
    return record_check(user=bay.technician, submission=payload)


def point(indication, error, moment="as_found"):
    return {"moment": moment, "indication": f"{indication:g}", "error": f"{error:.6f}", "expanded_uncertainty": "0.005"}


def came_back(bay, instrument=None, share=0.25, **changes):
    """The dial came back from the laboratory, reading high by a share of each reading, and was put right."""
    points = [point(at, share * at) for at in (0, 1, 2, 4, 8)] + [point(at, 0, "as_left") for at in (0, 1, 2, 4, 8)]
    entry = {
        "number": "K-77", "laboratory": "Dunlin Calibration", "issued_on": BACK.isoformat(), "due_on": "2030-07-01",
        "unit": "mm", "given": "error", "points": points, "confirmed": True,
    }  # fmt: skip
    return add_certificate(author=bay.manager, instrument=instrument or bay.dial, entry={**entry, **changes})


def judged(kind="recall"):
    for job in Job.objects.filter(kind=kind, state="queued"):
        run_job(job.pk)
    return Recall.objects.get()


def recalled(share=0.4):
    bay = make_bay()
    check = checked(bay)
    came_back(bay, share=share)
    return bay, check, judged()
