"""Kill Redis with -9 under two workers, again and again, and ask for work while it is away.

    python tests/load/faults/broker_restarted.py [--restarts 3]

It keeps nothing, so every message in it is lost. On the database of DATABASE_URL, or on a new SQLite file.
"""

import argparse
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[3]))

from tests.load.faults.scene import Redis, all_over, ask_for, done, told, workers
from tests.load.kill_worker import prepare, wait_for

ASKED = 3


def run(redis: Redis, restarts: int) -> int:
    """Return 0 when each job was done once."""
    from django.core.management import call_command

    call_command("migrate", verbosity=0, run_syncdb=True)
    ask_for(0, ASKED)
    with workers(2):
        for number in range(1, restarts + 1):
            before = done()
            wait_for(lambda before=before: done() > before + 100, 120, "some numbers")
            redis.kill()
            ask_for(ASKED * number, ASKED)
            time.sleep(2)
            redis.start()
            began, then = time.monotonic(), done()
            wait_for(lambda then=then: done() > then, 120, "the work to go on")
            print(f"killed with {then} numbers written, went on {time.monotonic() - began:.1f} s after its return")
        wait_for(all_over, 240, "the end of the jobs")
    return told(ASKED * (restarts + 1))


def main() -> int:
    """Read the command line and run."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--restarts", type=int, default=3)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="register-broker-") as folder:
        redis = Redis(folder)
        prepare(folder, redis.url)
        redis.start()
        try:
            return run(redis, options.restarts)
        finally:
            redis.kill()


if __name__ == "__main__":
    sys.exit(main())
