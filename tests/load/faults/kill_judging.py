"""Kill the worker with -9 while it makes a review and while it judges a recall; compare with undisturbed runs.

    python tests/load/faults/kill_judging.py [--redis redis://localhost:6379/0] [--kills 2] [--units 400]

Each job is done once in this process and once by workers that are killed at a random moment of their work. The review
must freeze the same tables and write each file once; the recall must judge each stroke once with the same numbers.
"""

import argparse
import random
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import asdict
from datetime import timedelta
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[3]))

from tests.load.faults.scene import start_worker
from tests.load.kill_refit import digest_of
from tests.load.kill_worker import kill, prepare, wait_for

OWN = {"id", "made_at"}


def disturbed(job_id: int, kills: int, lasts_s: float, seed: int) -> None:
    """Let workers do a job; `kills` of them are killed somewhere in what is left of it."""
    from fleet.models import Job

    def state() -> Job:
        return Job.objects.get(pk=job_id)

    moment = random.Random(seed)
    for number in range(kills):
        worker = start_worker()
        try:
            wait_for(lambda: state().state != "queued", 120, "the job to begin")
            time.sleep(lasts_s * moment.uniform(0.1, 0.6))
        finally:
            kill(worker)
        left = state()
        print(f"  kill {number + 1} at '{left.message or left.state}', {left.done_count} of {left.total_count}")
    worker = start_worker()
    try:
        # The beat may ask for the same work again while the killed worker's lease runs; then that one does it.
        same = Job.objects.filter(kind=state().kind, key=state().key, state__in=["queued", "running"])
        wait_for(lambda: not same.exists(), 300, "the end of the job")
    finally:
        kill(worker)


def timed(do: Callable[[], object]) -> float:
    """Seconds that it took."""
    began = time.monotonic()
    do()
    return time.monotonic() - began


def told(name: str, wanted: Counter[str], found: Counter[str]) -> int:
    """Print what lacks and what is there too often."""
    lost, doubled = sum((wanted - found).values()), sum((found - wanted).values())
    same = "the same" if wanted == found else "DIFFERENT"
    print(f"{name}: {sum(wanted.values()):,} rows, {same} as undisturbed; lost = {lost}, doubled = {doubled}")
    return 0 if wanted == found and wanted else 1


def review(kills: int) -> int:
    """A review of the last whole month."""
    from django.utils import timezone

    from fleet.jobs.tasks import run_job
    from fleet.models import Job, User
    from reports.models import Review
    from reports.review.month import month_before
    from reports.services.review import ask_review

    user, month = User.objects.get(username="bench"), month_before(timezone.localdate())
    calm = ask_review(user=user, month=month, depot=None, key=None)
    lasts_s = timed(lambda: run_job(calm.job_id))
    asked = ask_review(user=user, month=month, depot=None, key=None)
    disturbed(asked.job_id, kills, lasts_s, seed=1)
    print(f"make-review, {lasts_s:.1f} s undisturbed: {Job.objects.get(pk=asked.job_id).state}")
    return told("review", parts_of(Review.objects.get(pk=calm.pk)), parts_of(Review.objects.get(pk=asked.pk)))


def parts_of(made: Any) -> Counter[str]:
    """The frozen tables, by their digest, and the files made from it, by kind."""
    from reports.export.frozen import thaw

    tables = digest_of(asdict(one) for one in thaw(bytes(made.frozen)).tables)  # the run itself has its own number
    return Counter([tables, *made.files.values_list("kind", flat=True)])


def recall(kills: int) -> int:
    """A gauge that came back reading five parts in a hundred high, with all checks made by it."""
    from checks.models import Certificate, CertificatePoint, Instrument, RecalledStroke
    from checks.services.recall import judge_all, open_recall, request_judging
    from fleet.models import Job

    used = Instrument.objects.filter(kind="gauge").order_by("pk").first()
    last = Certificate.objects.filter(instrument=used).latest("issued_on")
    found = made_again(last, Certificate, CertificatePoint)
    opened = open_recall(certificate=found)
    if opened is None:
        raise SystemExit("FAILED: the certificate opened no recall.")
    Job.objects.filter(state="queued").delete()
    lasts_s = timed(judge_all)
    wanted = strokes(opened)
    RecalledStroke.objects.all().delete()
    request_judging(recall=opened)
    job = Job.objects.get(kind="recall", state="queued")
    disturbed(job.pk, kills, lasts_s, seed=2)
    print(f"recall, {lasts_s:.1f} s undisturbed: {Job.objects.get(pk=job.pk).state}")
    return told("recall", wanted, strokes(opened))


def made_again(last: Any, certificates: Any, points: Any) -> Any:
    """A later certificate whose as-found errors are large."""
    from django.utils import timezone

    before = list(points.objects.filter(certificate=last, moment="as_left"))
    old_number = last.number
    last.pk, last.number = None, f"{old_number} again"
    last.issued_on, last.due_on = timezone.localdate(), timezone.localdate() + timedelta(days=365)
    last._state.adding = True
    last.save()
    for point in before:
        point.pk, point.certificate, point._state.adding = None, last, True
        point.save()
        point.pk, point.moment, point._state.adding = None, "as_found", True
        point.error = 0.05 * point.indication
        point.save()
    return last


def strokes(opened: Any) -> Counter[str]:
    """Every stroke judged again, by a digest of its numbers."""
    rows = opened.strokes.order_by("original").values()
    return Counter(digest_of([{name: value for name, value in row.items() if name not in OWN}]) for row in rows)


def main() -> int:
    """Read the command line and run."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--redis", default="", help="address of a Redis to use as the broker")
    parser.add_argument("--kills", type=int, default=2)
    parser.add_argument("--units", type=int, default=400)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="register-judging-") as folder:
        prepare(folder, options.redis)
        from django.core.management import call_command

        from fleet.management.demo.bench import load_bench_fleet
        from fleet.models import Job

        call_command("migrate", verbosity=0, run_syncdb=True)
        load_bench_fleet(options.units)
        Job.objects.all().delete()
        return max(review(options.kills), recall(options.kills))


if __name__ == "__main__":
    sys.exit(main())
