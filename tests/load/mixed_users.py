"""People and programs of `mixed.py`, for locust: each looks, waits, records, and now and then sends a thing twice."""

import json
import os
import random
import uuid
from copy import deepcopy
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import gevent
from locust import FastHttpUser, between, events, task

PLAN = json.loads(Path(os.environ["MIXED_PLAN"]).read_text())
SENT: dict[str, Any] = {"checks": {}, "trips": {}, "unlike": [], "failed": 0}
TRIPS_AT_ONCE = 50
SENT_TWICE = 0.2
waiting = list(PLAN["people"])


@events.init.add_listener
def forget_the_beginning(environment: Any, **_: Any) -> None:
    """Count times from when everybody is there and the server is warm; faults count from the first."""

    def later(**_: Any) -> None:
        gevent.spawn_later(float(os.environ["MIXED_WARM"]), environment.stats.reset_all)

    environment.events.spawning_complete.add_listener(later)


@events.request.add_listener
def count_faults(exception: Exception | None = None, **_: Any) -> None:
    """Every answer that is an error, whenever it came."""
    SENT["failed"] += exception is not None


@events.quitting.add_listener
def keep_what_was_answered(**_: Any) -> None:
    """Leave what the server took for `mixed.py`, which looks for it in the database."""
    Path(os.environ["MIXED_SENT"]).write_text(json.dumps(SENT))


class Person(FastHttpUser):
    """Somebody signed in, who reads for a while between two pages; the same account lets a program write.

    The light client, since what sends stands on the machine that is measured.
    """

    wait_time = between(0.5, 3.5)

    def on_start(self) -> None:
        """Take an account that nobody has yet."""
        self.me = waiting.pop()
        self.signed_in = {"Cookie": f"sessionid={self.me['session']}"}
        self.dice = random.Random(self.me["session"])
        self.units = list(self.me["units"])
        self.nth = 0

    @task(10)
    def board(self) -> None:
        """The board, as it opens or narrowed down."""
        self.client.get(self.dice.choice(PLAN["boards"]), name="board", headers=self.signed_in)

    @task(8)
    def unit(self) -> None:
        """The page of a unit."""
        self.client.get(f"/units/{self.dice.choice(PLAN['units'])}/", name="unit page", headers=self.signed_in)

    @task(2)
    def check(self) -> None:
        """A check of a unit of one's own, each a little later than the one before."""
        key, unit = str(uuid.uuid4()), self.dice.choice(self.units)
        self.nth += 1
        payload = deepcopy(PLAN["payloads"][str(unit)])
        made = datetime.fromisoformat(payload["made_at"]) + timedelta(minutes=self.nth)
        km = float(payload["odometer"]["text"]) + self.nth
        payload |= {
            "key": key, "made_at": made.isoformat(), "cautions_read_at": (made - timedelta(minutes=20)).isoformat(),
            "odometer": {"text": f"{km:.0f}", "unit": "km"},
        }  # fmt: skip
        self.send("checks", "/api/v1/checks/", "record a check", payload, key)

    @task(1)
    def trips(self) -> None:
        """A batch of trips of one truck."""
        key, truck = str(uuid.uuid4()), self.me["truck"]
        self.nth += 1
        start = datetime.fromisoformat(PLAN["trips_from"]) + timedelta(days=2 * self.nth)
        rows = [
            {
                "truck": truck, "start": (start + timedelta(minutes=50 * place)).isoformat(), "duration_s": 2400,
                "distance_km": 38 + place / 10, "fuel_l": 12.5,
            }
            for place in range(TRIPS_AT_ONCE)
        ]  # fmt: skip
        self.send("trips", "/api/v1/trips/batches/", "batch of trips", {"source": "Load", "rows": rows}, key)

    def send(self, kind: str, address: str, name: str, payload: dict[str, Any], key: str) -> None:
        """Send under one key, sometimes twice at once as an impatient program does."""
        headers = {"Authorization": f"Bearer {self.me['token']}", "Idempotency-Key": key}

        def once() -> Any:
            return self.client.post(address, json=payload, headers=headers, name=name)

        times = 2 if self.dice.random() < SENT_TWICE else 1
        answers = [one.get() for one in gevent.joinall([gevent.spawn(once) for _ in range(times)])]
        taken = [answer for answer in answers if answer is not None and answer.status_code in (200, 201)]
        if taken:
            SENT[kind][key] = [payload.get("turbocharger") or TRIPS_AT_ONCE, len(taken)]
        if len({answer.json()["pk" if kind == "checks" else "key"] for answer in taken}) > 1:
            SENT["unlike"].append(key)
