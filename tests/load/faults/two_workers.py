"""Two workers, two beats, and every message delivered many times; then one worker is killed with -9.

python tests/load/faults/two_workers.py [--redis redis://localhost:6379/0] [--deliveries 20]
"""

import argparse
import os
import signal
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[3]))

from tests.load.faults.scene import CHUNKS, ROWS, all_over, ask_for, done, told, workers
from tests.load.kill_worker import prepare, wait_for

JOBS = 6


def ring_again(times: int) -> None:
    """Deliver the number of every job, whatever its state."""
    from fleet.jobs.tasks import ring
    from fleet.models import Job

    for _ in range(times):
        for job_id in Job.objects.values_list("pk", flat=True):
            ring(job_id)


def run(deliveries: int) -> int:
    """Return 0 when each job was done once."""
    from django.core.management import call_command

    call_command("migrate", verbosity=0, run_syncdb=True)
    ask_for(0, JOBS)
    ring_again(deliveries)
    with workers(2) as started:
        for share in (1, 2):
            wait_for(lambda share=share: done() > share * JOBS * CHUNKS * ROWS // 4, 240, "a quarter of the numbers")
            ring_again(deliveries)
        os.killpg(started[0].pid, signal.SIGKILL)
        started[0].wait()
        print(f"one of two workers killed with {done()} numbers written; {3 * deliveries + 1} deliveries of each job")
        wait_for(all_over, 240, "the end of the jobs")
    return told(JOBS)


def main() -> int:
    """Read the command line and run."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--redis", default="", help="address of a Redis to use as the broker")
    parser.add_argument("--deliveries", type=int, default=20)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="register-twice-") as folder:
        prepare(folder, options.redis)
        return run(options.deliveries)


if __name__ == "__main__":
    sys.exit(main())
