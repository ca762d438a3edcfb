"""Kill the worker with -9 in the middle of a job, again and again, and count what was lost or doubled.

    python tests/load/kill_worker.py [--redis redis://localhost:6379/0] [--kills 3]

The job copies numbers into a table, chunk by chunk. At the end each number must stand there exactly once.
"""

import argparse
import os
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))
CHUNKS, ROWS = 60, 50


def prepare(folder: str, redis_url: str, *, lease_s: int = 2) -> None:
    """Set the environment that this process and its workers share."""
    os.environ.setdefault("LOG_LEVEL", "WARNING")
    os.environ.setdefault("DATABASE_URL", f"sqlite:///{folder}/jobs.sqlite3")
    os.environ |= {
        "DEBUG": "0", "LOCAL": "1", "VAR_DIR": folder, "REDIS_URL": redis_url,
        "JOB_LEASE_SECONDS": str(lease_s), "JOB_TICK_SECONDS": "1", "DJANGO_SETTINGS_MODULE": "tests.load.settings",
        "PYTHONPATH": str(ROOT),
    }  # fmt: skip
    import django

    django.setup()


def start_worker() -> subprocess.Popen[bytes]:
    """Start one worker with its beat, in a process group of its own."""
    return subprocess.Popen(
        [sys.executable, str(ROOT / "manage.py"), "work", "--processes", "1"], cwd=ROOT, start_new_session=True
    )


def kill(worker: subprocess.Popen[bytes]) -> None:
    """Kill the worker and its children as a lost machine would."""
    os.killpg(worker.pid, signal.SIGKILL)
    worker.wait()


def wait_for(condition: "object", seconds: float, what: str) -> None:
    """Wait until `condition()` holds, or stop with what was waited for."""
    end = time.monotonic() + seconds
    while not condition():  # type: ignore[operator]
        if time.monotonic() > end:
            raise SystemExit(f"FAILED: waited {seconds:.0f} s for {what}.")
        time.sleep(0.05)


def run(kills: int) -> int:
    """Run the job to its end through `kills` kills; return 0 when nothing was lost or doubled."""
    from django.core.management import call_command

    from fleet.jobs.requests import enqueue
    from fleet.models import Job
    from tests.load.copying.models import Copied

    call_command("migrate", verbosity=0, run_syncdb=True)
    job = enqueue(kind="copy", arguments={"chunks": CHUNKS, "rows": ROWS}, key="copy")
    worker, killed_at = start_worker(), []
    try:
        for number in range(1, kills + 1):
            aim = CHUNKS * ROWS * number // (kills + 2)
            wait_for(lambda aim=aim: Job.objects.get(pk=job.pk).done_count >= aim, 120, f"{aim} rows")
            kill(worker)
            killed_at.append((time.monotonic(), Job.objects.get(pk=job.pk).done_count))
            worker = start_worker()
            moved = killed_at[-1][1]
            wait_for(lambda moved=moved: Job.objects.get(pk=job.pk).done_count > moved, 120, "the job to go on")
            print(f"killed at {moved} rows, went on after {time.monotonic() - killed_at[-1][0]:.1f} s")
        wait_for(lambda: not Job.objects.get(pk=job.pk).is_open, 120, "the end of the job")
    finally:
        kill(worker)
    job.refresh_from_db()
    rows = Copied.objects.count()
    distinct = Copied.objects.values("number").distinct().count()
    print(f"state = {job.state}, lost = {CHUNKS * ROWS - distinct}, doubled = {rows - distinct}")
    return 0 if (job.state, rows, distinct) == ("done", CHUNKS * ROWS, CHUNKS * ROWS) else 1


def main() -> int:
    """Read the command line and run."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--redis", default="", help="address of a Redis to use as the broker")
    parser.add_argument("--kills", type=int, default=3)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="register-kill-") as folder:
        prepare(folder, options.redis)
        return run(options.kills)


if __name__ == "__main__":
    sys.exit(main())
