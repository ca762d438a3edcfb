"""The review of a large fleet: time of each step and memory, with the files' sizes.

Run it: python tests/bench/bench_review.py [units]. Not collected by pytest: a timing is a report, not a claim.
The fleet is the bench's: six checks a unit over 24 months. 'MB' is the highest memory of the process that makes the
review, which is started anew so that making the fleet does not count.
"""

import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))
SMOKE = bool(os.environ.get("BENCH_SMOKE"))
FOLDER = os.environ.setdefault("BENCH_FOLDER", tempfile.mkdtemp(prefix="bench-review-"))
os.environ |= {
    "LOCAL": "1", "DEBUG": "0", "LOG_LEVEL": "ERROR", "DJANGO_SETTINGS_MODULE": "fleet.settings", "VAR_DIR": FOLDER,
    "OPENBLAS_NUM_THREADS": "1", "DATABASE_URL": f"sqlite:///{FOLDER}/bench.sqlite3",
}  # fmt: skip

import django

django.setup()

from django.core.management import call_command
from django.utils import timezone

from checks.services.life import fit_all
from fleet.jobs.run import Run
from fleet.jobs.tasks import run_job
from fleet.management.demo.bench import load_bench_fleet
from fleet.models import User
from reports.review.month import month_before
from reports.services.review import ask_review


def make() -> None:
    """The fleet, in a process of its own."""
    call_command("migrate", verbosity=0)
    size = int(sys.argv[1]) if len(sys.argv) > 1 else 60 if SMOKE else 10_000
    began = time.perf_counter()
    load_bench_fleet(size)
    lives = fit_all()
    print(f"{size:,} units made and {lives:,} lives fitted in {time.perf_counter() - began:.0f} s")


def review() -> None:
    """The review of the last whole month, step by step."""
    began, last = time.perf_counter(), [time.perf_counter(), "asked"]
    plain = Run._beat

    def beat(self, **changes):
        plain(self, **changes)
        now = time.perf_counter()
        if now - last[0] > 0.2:
            print(f"  {now - last[0]:6.1f} s  until '{changes.get('message', '')}'")
        last[0] = now

    Run._beat = beat
    asked = ask_review(
        user=User.objects.get(username="bench"), month=month_before(timezone.localdate()), depot=None, key=None
    )
    run_job(asked.job_id)
    asked.refresh_from_db()
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    files = ", ".join(f"{row.kind} {row.size / 1e6:.1f} MB" for row in asked.files.all())
    print(f"{asked.job.state}: {time.perf_counter() - began:.1f} s, {peak:.0f} MB; {files}; {asked.job.error}")
    print(asked.sentence)


if __name__ == "__main__":
    if os.environ.get("BENCH_STEP") == "review":
        review()
    else:
        make()
        subprocess.run([sys.executable, __file__], env=os.environ | {"BENCH_STEP": "review"}, check=True)
