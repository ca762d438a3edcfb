"""Kill the worker with -9 while it brings a file of trips in, and count what was lost or doubled.

    python tests/load/kill_import.py [--redis redis://localhost:6379/0] [--kills 3] [--rows 400000]

On the database of DATABASE_URL, or on a new SQLite file. At the end each good line of the file must stand in the
register exactly once, the counts of the file must add up, and each bad line must stand in the report once.
"""

import argparse
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests.load.kill_worker import kill, prepare, start_worker, wait_for


def run(folder: str, kills: int, rows: int) -> int:
    """Bring a file in through `kills` kills; return 0 when nothing was lost or doubled."""
    from django.core.management import call_command
    from django.db import connection

    from fleet.imports.trips.sending import ask, refused_report
    from fleet.models import Job, Trip, TripImport, User
    from tests.bench.bench_import import invent, trucks_for
    from tests.bench.bench_import import prepare as stage

    call_command("migrate", verbosity=0, run_syncdb=True)
    Trip.objects.all().delete()
    path = Path(folder) / "trips.csv"
    invent(path, rows)
    key = stage(path, rows)
    user = User.objects.get(username="bench")
    job = ask(user=user, key=key, trial=False)
    connection.close()
    worker = start_worker()
    try:
        for number in range(1, kills + 1):
            aim = rows * number // (kills + 2)
            wait_for(lambda aim=aim: Job.objects.get(pk=job.pk).done_count >= aim, 120, f"{aim} lines")
            kill(worker)
            moved, killed = Job.objects.get(pk=job.pk).done_count, time.monotonic()
            worker = start_worker()
            wait_for(lambda moved=moved: Job.objects.get(pk=job.pk).done_count > moved, 120, "the job to go on")
            print(f"killed at {moved:,} lines, went on after {time.monotonic() - killed:.1f} s")
        wait_for(lambda: not Job.objects.get(pk=job.pk).is_open, 240, "the end of the job")
    finally:
        kill(worker)
    total = rows // trucks_for(rows) * trucks_for(rows)
    bad = len(range(250, total, 500))
    sent = TripImport.objects.get(pk=key)
    reported = len("".join(refused_report(user, sent.key)).splitlines()) - 1
    stored = Trip.objects.count()
    lost, doubled = max(0, total - bad - stored), max(0, stored + bad - total)
    print(f"lines {sent.lines:,} = accepted {sent.accepted:,} + refused {sent.refused:,}; reported {reported:,}")
    print(f"lost = {lost}, doubled = {doubled + sent.lines - total}")
    counted = (sent.lines, sent.accepted, sent.refused, sent.new, reported)
    return 0 if (stored, *counted) == (total - bad, total, total - bad, bad, total - bad, bad) else 1


def main() -> int:
    """Read the command line and run."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--redis", default="", help="address of a Redis to use as the broker")
    parser.add_argument("--kills", type=int, default=3)
    parser.add_argument("--rows", type=int, default=400_000)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="register-kill-") as folder:
        prepare(folder, options.redis)
        return run(folder, options.kills, options.rows)


if __name__ == "__main__":
    sys.exit(main())
