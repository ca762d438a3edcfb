"""What the fleet board costs at 100, 1,000 and 10,000 turbochargers, six checks each, on SQLite.

Run it: python tests/bench/bench_board.py [sizes]. Not collected by pytest: a timing is a report, not a claim.
"""

import os
import sys
import tempfile
import time
from pathlib import Path
from statistics import median
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))
os.environ |= {"LOCAL": "1", "DEBUG": "0", "LOG_LEVEL": "ERROR", "DJANGO_SETTINGS_MODULE": "fleet.settings"}
os.environ["VAR_DIR"] = tempfile.mkdtemp(prefix="bench-board-")
os.environ["DATABASE_URL"] = f"sqlite:///{os.environ['VAR_DIR']}/bench.sqlite3"

import django

django.setup()

from django.conf import settings
from django.db import connection
from django.test import Client
from django.utils import timezone

from checks.models import Check, Policy
from checks.selectors.policy_effect import policy_effect
from fleet.models import Turbocharger, User
from tests.large_fleet import grow, prepare

# Pages as served, but without collecting the static files first.
settings.STORAGES["staticfiles"]["BACKEND"] = "django.contrib.staticfiles.storage.StaticFilesStorage"
settings.ALLOWED_HOSTS.append("testserver")
ROUNDS = 25
ADDRESSES = {
    "first page": "/",
    "one depot": "/?depot={depot}",
    "one state": "/?state=outside_high",
    "page 3": "/?page=3",
    "last page": "/?page=9999",
    "by unit": "/?sort=unit",
    "by state": "/?sort=state",
    "by last check": "/?sort=checked",
    "find": "/?find=00007",
    "by chance": "/?sort=chance",
    "leaving": "/?state=leaving",
    "models": "/models/",
    "a model": "/models/{model}/drift/",
    "intervals": "/intervals/",
}


def measure(client: Client, address: str) -> tuple[float, float, int, int]:
    """Median and slowest milliseconds of a page, its queries, its bytes."""
    statements = []

    def keep(execute: Any, sql: str, *rest: Any) -> Any:
        statements.append(sql)
        return execute(sql, *rest)

    with connection.execute_wrapper(keep):
        answer = client.get(address)
    assert answer.status_code == 200, answer.status_code
    took = []
    for _ in range(ROUNDS):
        began = time.perf_counter()
        client.get(address)
        took.append(1000 * (time.perf_counter() - began))
    return median(took), max(took), len(statements), len(answer.content)


def sign_in(user: User) -> Client:
    """A client signed in as somebody."""
    client = Client(raise_request_exception=True)
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    return client


def main(sizes: list[int]) -> None:
    """Grow the fleet and print the table."""
    bay, manager = prepare()
    print(f"{'units':>7} {'checks':>7} {'page':<14} {'median ms':>10} {'max ms':>8} {'queries':>8} {'kB':>6}")
    for size in sizes:
        grow(bay, size)
        found: dict[str, Any] = {"units": Turbocharger.objects.count(), "checks": Check.objects.count()}
        client = sign_in(manager)
        for name, address in ADDRESSES.items():
            middle, worst, queries, size_b = measure(
                client, address.format(depot=bay.depot.pk, model=bay.turbocharger.model_id)
            )
            shown = f"{found['units']:>7,} {found['checks']:>7,} {name:<14}"
            print(f"{shown} {middle:>10.1f} {worst:>8.1f} {queries:>8} {size_b / 1000:>6.0f}", flush=True)
        began = time.perf_counter()
        policy_effect(user=manager, now=Policy(pk=1), then=Policy(pk=1, risk_level=0.1), today=timezone.localdate())
        print(f"{'':>16}a change of policy told in {1000 * (time.perf_counter() - began):.0f} ms", flush=True)


if __name__ == "__main__":
    usual = [100] if os.environ.get("BENCH_SMOKE") else [100, 1_000, 10_000]
    main([int(text) for text in sys.argv[1:]] or usual)
