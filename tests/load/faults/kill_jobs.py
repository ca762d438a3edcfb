"""Kill the worker with -9 in the middle of every kind of long job, and compare with a run that nobody disturbed.

    python tests/load/faults/kill_jobs.py [--redis redis://localhost:6379/0] [--kills 2] [--kinds fit-fuel recall]

The demonstration fleet is the data. Each kind is run once in this process, in a transaction that is then rolled back,
and then by workers of which the first dies right after one of its writes; every row must be there once, with the same
numbers. A kind that is neither here nor among the exceptions ends the script.
"""

import argparse
import os
import random
import signal
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parents[3]))
# Sums come out the same to the last bit only where as many threads add them up.
os.environ |= {"OPENBLAS_NUM_THREADS": "1", "QUIET_BEAT": "1"}

from tests.load.faults.scene import start_worker
from tests.load.kill_worker import kill, prepare, wait_for

if TYPE_CHECKING:
    from tests.load.faults.long_jobs import Case

EXCEPT = {
    "bring-trips": "kill_import.py does it, with files long enough",
    "copy": "only these scripts have it; kill_worker.py",
    "morning-mail": "a mail server takes a mail or does not; one depot's is sent in a moment",
}
# Longer than a busy machine takes over what lies between two beats of a job.
LEASE_S = 6


@dataclass(frozen=True, slots=True)
class Killed:
    """What killing one kind of job came to."""

    kind: str
    seconds: float
    writes: int
    died_after: list[int]
    ended: set[str]
    lost: int
    doubled: int
    rows: int

    def told(self) -> bool:
        """Print it; true where each worker died inside, the job went on, and left what an undisturbed run leaves."""
        died = ", ".join(map(str, self.died_after))
        print(
            f"{self.kind:<21} {self.seconds:5.1f} s and {self.writes:>4,} writes undisturbed; killed after {died}; "
            f"then {'/'.join(sorted(self.ended))}; {self.rows:,} rows, lost = {self.lost}, doubled = {self.doubled}",
            flush=True,
        )
        return bool(self.rows) and self.ended == {"done"} and not self.lost and not self.doubled


def undisturbed(case: "Case") -> tuple[float, int, Counter[str]]:
    """Seconds and writes that a job takes in this process, and what it leaves; nothing of it is kept."""
    from django.db import transaction

    from fleet.jobs.tasks import run_job
    from tests.load.faults.doom import watch

    writes: list[None] = []
    with transaction.atomic():
        job = case.ask()
        watch(job.kind, lambda: writes.append(None))
        began = time.monotonic()
        run_job(job.pk)
        seconds = time.monotonic() - began
        job.refresh_from_db()
        if job.state != "done" or not writes:
            raise SystemExit(
                f"FAILED: undisturbed, {job.kind} ended {job.state} after {len(writes)} writes: {job.error}"
            )
        left = case.left()
        transaction.set_rollback(True)
    return seconds, len(writes), left


def disturbed(case: "Case", after: int) -> str:
    """Let a worker do a job and die after so many of its writes, then another; returns how the job ended."""
    from fleet.models import Job

    job = case.ask()
    worker = start_worker(DOOMED=f"{job.kind} {after}")
    try:
        wait_for(lambda: worker.poll() is not None, 240, f"the worker to die after write {after} of {job.kind}")
    finally:
        if worker.poll() is None:
            kill(worker)
    job.refresh_from_db()
    if job.state != "running" or worker.returncode != -signal.SIGKILL:
        log = (Path(os.environ["VAR_DIR"]) / "worker.log").read_text()[-2000:]
        raise SystemExit(
            f"FAILED: {job.kind} was {job.state} ({job.error}) when its worker ended with {worker.returncode}.\n{log}"
        )
    worker = start_worker()
    try:
        # The beat may ask for the same work again while the killed worker's lease runs; then that one does it.
        same = Job.objects.filter(kind=job.kind, key=job.key)
        wait_for(lambda: not same.filter(state__in=["queued", "running"]).exists(), 300, f"the end of {job.kind}")
    finally:
        kill(worker)
    states = set(same.values_list("state", flat=True))
    return "done" if states <= {"done", "cancelled"} and "done" in states else "/".join(sorted(states))


def killed(kind: str, case: "Case", kills: int) -> Killed:
    """Kill it once after its last write, then somewhere among its writes."""
    from fleet.models import Job

    dice, ended, lost, doubled, rows = random.Random(kind), set(), 0, 0, 0
    Job.objects.filter(state__in=["queued", "running"]).delete()
    seconds, writes, wanted = undisturbed(case)
    died_after = [writes, *(dice.randint(1, writes) for _ in range(kills - 1))]
    for after in died_after:
        Job.objects.filter(state__in=["queued", "running"]).delete()
        ended.add(disturbed(case, after))
        found = case.left()
        lost += sum((wanted - found).values())
        doubled += sum((found - wanted).values())
        rows = sum(found.values())
    return Killed(kind, seconds, writes, died_after, ended, lost, doubled, rows)


def main() -> int:
    """Read the command line and run."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--redis", default="", help="address of a Redis to use as the broker")
    parser.add_argument("--kills", type=int, default=2)
    parser.add_argument("--kinds", nargs="*", default=[])
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="register-kill-jobs-") as folder:
        prepare(folder, options.redis, lease_s=LEASE_S)
        from django.core.management import call_command

        from fleet.jobs.registry import kinds
        from tests.load.faults.long_jobs import cases

        known = cases()
        if missing := set(kinds()) - known.keys() - EXCEPT.keys():
            raise SystemExit(f"FAILED: no case kills a worker amid {', '.join(sorted(missing))}.")
        call_command("migrate", verbosity=0, run_syncdb=True)
        call_command("demo")
        good = True
        for kind in options.kinds or known:
            good &= killed(kind, known[kind], options.kills).told()
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
