"""Crash PostgreSQL under two workers and under programs that record meter readings, again and again.

    python tests/load/faults/database_restarted.py [--redis redis://localhost:6379/0] [--restarts 3]

A cluster of its own, stopped without a checkpoint. A program sends a reading under one key until it is acknowledged;
at the end each acknowledged reading must stand in the register once, and each job must be done once.
"""

import argparse
import logging
import os
import sys
import tempfile
import threading
import time
import uuid
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[3]))

from tests.load.faults.scene import Postgres, all_over, ask_for, done, told, workers
from tests.load.kill_worker import prepare, wait_for

JOBS, SENDERS = 4, 3


def patient(condition: Any) -> Any:
    """The same condition, false while the database is away."""
    from django.db import Error, connection

    def holds() -> bool:
        try:
            return bool(condition())
        except Error:
            connection.close()
            return False

    return holds


class Sender(threading.Thread):
    """A program that sends readings, each until it is acknowledged."""

    def __init__(self, person: Any, truck: int, stop: threading.Event) -> None:
        super().__init__(daemon=True)
        self.person, self.truck, self.stop = person, truck, stop
        self.acknowledged: dict[int, int] = {}
        self.refused, self.refusal = 0, ""

    def run(self) -> None:
        """Send until told to stop; the last one is sent to its end."""
        from django.db import connection
        from django.test import Client

        client = Client(raise_request_exception=False)
        wait_for(patient(lambda: client.force_login(self.person) is None), 60, "a session")
        while not self.stop.is_set() and not self.refusal:
            number, key = len(self.acknowledged) + 1, str(uuid.uuid4())
            while self._send(client, number, key) != 201 and not self.refusal:
                self.refused += 1
                connection.close()
                time.sleep(0.1)
        connection.close()

    def _send(self, client: Any, number: int, key: str) -> int:
        minute = f"2026-03-{1 + number // 1440:02d}T{number // 60 % 24:02d}:{number % 60:02d}:00Z"
        odometer = {"text": str(1000 + number), "unit": "km"}
        answer = client.post(
            "/api/v1/meter-readings/", {"truck": self.truck, "read_at": minute, "odometer": odometer},
            content_type="application/json", headers={"Idempotency-Key": key},
        )  # fmt: skip
        if answer.status_code == 201:
            self.acknowledged[answer.json()["id"]] = 1000 + number
        elif answer.status_code < 500:
            self.refusal = f"{answer.status_code} {answer.content[:300]!r}"
        return int(answer.status_code)


def senders(stop: threading.Event) -> list[Sender]:
    """Programs with a truck each."""
    from fleet.models import Depot, Membership, Truck, User

    depot = Depot.objects.create(name="Far Yard", code="FAR")
    person = User.objects.create_user("feed")
    Membership.objects.create(user=person, depot=depot, role="manager")
    trucks = [
        Truck.objects.create(depot=depot, unit_number=str(1 + number), in_service_on="2026-01-01")
        for number in range(SENDERS)
    ]
    return [Sender(person, truck.pk, stop) for truck in trucks]


def run(cluster: Postgres, restarts: int) -> int:
    """Return 0 when nothing was lost or doubled."""
    from django.core.management import call_command

    call_command("migrate", verbosity=0, run_syncdb=True)
    stop = threading.Event()
    ask_for(0, JOBS)
    sending = senders(stop)
    for sender in sending:
        sender.start()
    with workers(2):
        for _ in range(restarts):
            before = done()
            wait_for(patient(lambda before=before: done() > before + 60), 120, "some numbers")
            cluster.crash()
            time.sleep(1)
            cluster.start()
            began = time.monotonic()
            then = done_after_crash()
            wait_for(patient(lambda then=then: done() > then), 120, "the work to go on")
            print(f"crashed with {then} numbers written, went on {time.monotonic() - began:.1f} s after its return")
        wait_for(patient(all_over), 240, "the end of the jobs")
        stop.set()
        for sender in sending:
            sender.join(60)
    return max(readings_told(sending), told(JOBS))


def done_after_crash() -> int:
    """How many numbers stand there once the database answers."""
    wait_for(patient(lambda: done() >= 0), 60, "the database")
    return done()


def readings_told(sending: list[Sender]) -> int:
    """Compare what was acknowledged with what stands there."""
    from fleet.models import MeterReading

    stored = dict(MeterReading.objects.values_list("pk", "odometer_km"))
    sent = {pk: float(km) for sender in sending for pk, km in sender.acknowledged.items()}
    lost = sum(stored.get(pk) != km for pk, km in sent.items())
    for sender in sending:
        if sender.refusal:
            raise SystemExit(f"FAILED: a reading was refused with {sender.refusal}.")
    tries = sum(sender.refused for sender in sending)
    print(f"readings: {len(sent)} acknowledged, {tries} tries failed and were sent again")
    print(f"lost = {lost}, doubled = {len(stored.keys() - sent.keys())}")
    return 0 if stored == sent and sent else 1


def main() -> int:
    """Read the command line and run."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--redis", default="", help="address of a Redis to use as the broker")
    parser.add_argument("--restarts", type=int, default=3)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="register-database-") as folder:
        cluster = Postgres(folder)
        try:
            os.environ |= {"DATABASE_URL": cluster.url, "API_RATE": "1000000", "ALLOWED_HOSTS": "testserver"}
            prepare(folder, options.redis)
            logging.disable(logging.CRITICAL)  # an outage is loud
            return run(cluster, options.restarts)
        finally:
            cluster.crash()


if __name__ == "__main__":
    sys.exit(main())
