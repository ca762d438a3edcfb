"""Fifty people at once on a fleet of ten thousand: boards, unit pages, checks and batches of trips; then a count.

    DATABASE_URL=postgres://... python tests/load/mixed.py [--redis redis://...] [--users 50] [--units 10000]

On the database of DATABASE_URL, which must be empty, or on a new SQLite file. gunicorn and a worker run as in a
deployment, locust sends from a process of its own over the loopback alone; between two requests a person reads for 0.5
to 3.5 seconds, so that the load offered falls as answers get slower. A check brings a true refit of a third of the
fleet, a batch of trips a true fit of fuel. Times count from ten seconds after everybody came. At the end every check
and trip that the server took must be there once. Times are read by people.
"""

import argparse
import csv
import json
import os
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections import Counter
from datetime import timedelta
from pathlib import Path
from typing import Any

from django.utils import timezone

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests.ports import free_port

WATCHED = ("board", "unit page", "record a check", "batch of trips")
UNITS_SHOWN = 400
UNITS_EACH = 12
# The server has loaded everything and everybody is there; until then no time is counted, but every fault is.
WARM_S = 10


def begin(folder: str, redis_url: str) -> None:
    """Set the environment that this process, the server and the worker share."""
    os.environ.setdefault("DATABASE_URL", f"sqlite:///{folder}/load.sqlite3")
    os.environ |= {
        "DEBUG": "0", "LOCAL": "1", "VAR_DIR": folder, "REDIS_URL": redis_url, "LOG_LEVEL": "ERROR",
        "DJANGO_SETTINGS_MODULE": "fleet.settings", "PYTHONPATH": str(ROOT), "SITE_URL": "http://localhost",
    }  # fmt: skip
    import django

    django.setup()


def make_fleet(units: int, users: int) -> dict[str, Any]:
    """Fill the database; returns what locust needs to know."""
    from django.core.management import call_command
    from django.db import connection

    from checks.models import Check
    from fleet.management.demo.bench import load_bench_fleet
    from fleet.models import Depot, Fitment, Membership, Turbocharger, User
    from fleet.selectors.token import SCOPES
    from fleet.services.token import make_token
    from tests.factories import UserFactory
    from tests.payloads import payload_like

    call_command("migrate", verbosity=0)
    load_bench_fleet(units)
    connection.cursor().execute("ANALYZE")
    depots = list(Depot.objects.values_list("pk", flat=True))
    shuffled = list(Turbocharger.objects.order_by("?").values_list("pk", flat=True))
    people, payloads = [], {}
    for place in range(users):
        person: User = UserFactory()
        Membership.objects.bulk_create(
            Membership(user=person, depot_id=depot, role=Membership.Role.MANAGER) for depot in depots
        )
        _, secret = make_token(user=person, name="load", scopes=sorted(SCOPES), days=2)
        own = shuffled[place::users][:UNITS_EACH]
        for unit in own:
            last = Check.objects.filter(turbocharger=unit).latest("made_at")
            payloads[unit] = payload_like(last, at=timezone.now() - timedelta(days=2))
        truck = Fitment.objects.filter(turbocharger=own[0]).values_list("engine__installations__truck__unit_number")
        people.append({"session": session_of(person), "token": secret, "units": own, "truck": truck[0][0]})
    boards = ["/", "/", "/?state=outside_high", "/?sort=unit", "/?page=3", f"/?depot={depots[0]}", "/?find=00007"]
    trips_from = (timezone.now() - timedelta(days=700)).isoformat()
    shown = shuffled[:UNITS_SHOWN]
    return {"people": people, "units": shown, "boards": boards, "payloads": payloads, "trips_from": trips_from}


def session_of(person: Any) -> str:
    """A session of somebody who signed in."""
    from django.conf import settings
    from django.test import Client

    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client.cookies[settings.SESSION_COOKIE_NAME].value


def start(folder: Path) -> tuple[list[subprocess.Popen[bytes]], str]:
    """Start server and worker; returns them with the server's address."""
    port = free_port()
    run, python = {"cwd": ROOT, "stdout": (folder / "log").open("wb"), "stderr": subprocess.STDOUT}, sys.executable
    os.environ["BIND"] = f"127.0.0.1:{port}"
    commands = (
        [python, "-m", "gunicorn", "--config", "python:fleet.gunicorn", "fleet.wsgi"],
        [python, "manage.py", "work", "--processes", "1"],
    )
    started = [subprocess.Popen(command, **run) for command in commands]  # type: ignore[call-overload]
    for _ in range(240):
        try:
            urllib.request.urlopen(f"http://localhost:{port}/healthz", timeout=5)
            return started, f"http://localhost:{port}"
        except OSError:
            time.sleep(0.25)
    raise SystemExit("FAILED: the server did not start: " + (folder / "log").read_text()[-800:])


def attack(folder: Path, host: str, users: int, seconds: int) -> dict[str, dict[str, str]]:
    """Let locust run; returns its figures by name."""
    told = {"MIXED_PLAN": str(folder / "plan.json"), "MIXED_SENT": str(folder / "sent.json"), "MIXED_WARM": str(WARM_S)}
    spawning_s = 5
    command = [
        sys.executable, "-m", "locust", "-f", str(ROOT / "tests/load/mixed_users.py"), "--headless", "--only-summary",
        "--host", host, "--users", str(users), "--spawn-rate", str(max(1, users // spawning_s)),
        "--run-time", f"{seconds + spawning_s + WARM_S}s",
        "--stop-timeout", "20", "--csv", str(folder / "times"), "--loglevel", "ERROR", "--exit-code-on-error", "0",
    ]  # fmt: skip
    done = subprocess.run(command, cwd=folder, env=os.environ | told, capture_output=True, text=True, check=False)
    if not (folder / "sent.json").exists():
        raise SystemExit("FAILED: locust ended early: " + done.stderr[-800:])
    with (folder / "times_stats.csv").open() as file:
        return {row["Name"]: row for row in csv.DictReader(file)}


def count(sent: dict[str, Any]) -> tuple[int, int]:
    """How many of the things that the server took are lost, and how many are there twice."""
    from checks.models import Check
    from fleet.models import Trip, TripImport

    checks = Counter((str(key), unit) for key, unit in Check.objects.values_list("key", "turbocharger"))
    wanted = [(key, unit) for key, (unit, _) in sent["checks"].items()]
    lost = sum(not checks[one] for one in wanted)
    doubled = sum(checks[one] > 1 for one in wanted) + len(sent["unlike"])
    batches = {str(key): new for key, new in TripImport.objects.values_list("key", "new")}
    lost += sum(batches.get(key) != rows for key, (rows, _) in sent["trips"].items())
    # Locust's last batches may have been taken without their answer, so there may be more, never fewer.
    lost += max(0, sum(batches.values()) - Trip.objects.count())
    doubled += max(0, Trip.objects.count() - sum(batches.values()))
    return lost, doubled


def main() -> None:
    """Run it; ends with 1 where something is lost or doubled or was answered by an error."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--redis", default="")
    for name, usual in (("users", 50), ("units", 10_000), ("seconds", 60)):
        asked.add_argument(f"--{name}", type=int, default=usual)
    args = asked.parse_args()
    with tempfile.TemporaryDirectory(prefix="register-load-") as name:
        folder = Path(name)
        begin(name, args.redis)
        from django.core.management import call_command

        call_command("collectstatic", interactive=False, verbosity=0)
        (folder / "plan.json").write_text(json.dumps(make_fleet(max(args.units, UNITS_EACH * args.users), args.users)))
        started, host = start(folder)
        try:
            rows = attack(folder, host, args.users, args.seconds)
        finally:
            for process in started:
                process.terminate()
            for process in started:
                process.wait(40)
        sent = json.loads((folder / "sent.json").read_text())
        lost, doubled = count(sent)
        with (folder / "times_failures.csv").open() as file:
            for row in csv.DictReader(file):
                print(f"{row['Occurrences']} times {row['Name']}: {row['Error'][:200]}")
    errors = sent["failed"]
    for what in WATCHED:
        if row := rows.get(what):
            shown = f"{row['Request Count']:>6} requests, median {row['50%']:>5} ms, 95 % within {row['95%']:>5} ms"
            print(f"{what:<15} {shown}")
    if row := rows.get("Aggregated"):
        print(f"offered: {float(row['Requests/s']):.1f} requests a second over {args.seconds} s by {args.users} people")
    print(f"from the first second: {len(sent['checks'])} checks and {len(sent['trips'])} batches taken")
    print(f"errors = {errors}, lost = {lost}, doubled = {doubled}")
    sys.exit(1 if errors or lost or doubled else 0)


if __name__ == "__main__":
    main()
