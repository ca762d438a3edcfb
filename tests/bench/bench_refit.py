"""One more check in a large fleet: how long until its unit has a new forecast and plan, and until its model has.

Run it: python tests/bench/bench_refit.py [sizes]. Not collected by pytest: a timing is a report, not a claim.
Each model of the bench fleet holds a third of it; 'unit' is the job's time until the checked unit's forecast and plan
are committed, 'model' until all of its model's are, 'MB' the highest memory of the process.
"""

import os
import resource
import sys
import tempfile
import time
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))
FOLDER = tempfile.mkdtemp(prefix="bench-refit-")
os.environ |= {
    "LOCAL": "1", "DEBUG": "0", "LOG_LEVEL": "ERROR", "DJANGO_SETTINGS_MODULE": "fleet.settings", "VAR_DIR": FOLDER,
    "OPENBLAS_NUM_THREADS": "1",
}  # fmt: skip
os.environ["DATABASE_URL"] = f"sqlite:///{FOLDER}/bench.sqlite3"

import django

django.setup()

from django.core.management import call_command
from django.utils import timezone

from checks.models import Check, DriftFit, Forecast, Standing
from checks.services.check import record_check
from fleet.jobs.run import Run
from fleet.jobs.tasks import run_job
from fleet.management.demo.bench import load_bench_fleet
from fleet.models import Depot, Job, Turbocharger, User
from tests.payloads import payload_like

TIMES: dict[str, float] = {}


@contextmanager
def timed_steps():
    """Note when each step of a job commits."""
    plain, began = Run.step, time.perf_counter()

    @contextmanager
    def step(self, **named):
        with plain(self, **named):
            yield
        TIMES.setdefault("first", time.perf_counter() - began)

    Run.step = step
    try:
        yield
    finally:
        Run.step = plain
        TIMES["all"] = time.perf_counter() - began


def measure(size: int) -> str:
    """A fleet of ``size`` in an empty database; one check recorded, its refit run as a worker runs it."""
    call_command("flush", verbosity=0, interactive=False)
    began = time.perf_counter()
    load_bench_fleet(size)
    loaded = time.perf_counter() - began
    user = User.objects.get(username="bench")
    unit = Turbocharger.objects.order_by("pk")[size // 2]
    before = Check.objects.filter(turbocharger=unit).latest("made_at")
    check = record_check(user=user, submission=payload_like(before, at=timezone.now()))
    job = Job.objects.get(kind="refit", state="queued")
    Job.objects.filter(pk=job.pk).update(not_before=timezone.now())
    TIMES.clear()
    with timed_steps():
        run_job(job.pk)
    job.refresh_from_db()
    assert job.state == "done", job.error
    assert Forecast.objects.get(turbocharger=unit).last_check_id == check.pk
    assert Standing.objects.get(turbocharger=unit).p_outside_now is not None
    readings = DriftFit.objects.get(turbocharger_model=unit.model, is_current=True).readings
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return (
        f"{size:>8,} {Check.objects.count():>9,} {readings:>9,} {loaded:>8.0f} "
        f"{TIMES['first']:>8.2f} {TIMES['all']:>8.2f} {memory:>6.0f}"
    )


def main(sizes: list[int]) -> None:
    """Print the table."""
    call_command("migrate", verbosity=0)
    print(f"{'units':>8} {'checks':>9} {'fitted':>9} {'load s':>8} {'unit s':>8} {'model s':>8} {'MB':>6}", flush=True)
    for size in sizes:
        print(measure(size), flush=True)
    assert Depot.objects.exists()


if __name__ == "__main__":
    smoke = [60] if os.environ.get("BENCH_SMOKE") else [1_000, 10_000]
    main([int(text) for text in sys.argv[1:]] or smoke)
