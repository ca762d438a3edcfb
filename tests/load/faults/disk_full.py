"""Fill the disk in the middle of an upload of trips, make room, and send the same file again.

    python tests/load/faults/disk_full.py [--rows 200000]

A real web server keeps its files on a small file system in memory; where that cannot be mounted (it needs root), no
file of the server may grow past the same size. The refused upload must say why, leave no file and no row behind, and
the second must bring every line in once.
"""

import argparse
import http.cookiejar
import os
import re
import resource
import signal
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.parse
import urllib.request
from contextlib import suppress
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[3]))

from tests.load.faults.scene import ROOT, free_port, start_worker
from tests.load.kill_worker import prepare, wait_for

ROOM = 3 * 1024 * 1024
PASSWORD = "a long word for this run alone"


class Server:
    """The web server, on a disk that is small at first."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.port = folder, free_port()
        self.origin = f"http://127.0.0.1:{self.port}"
        mounted = subprocess.run(
            ["mount", "-t", "tmpfs", "-o", f"size={ROOM}", "tmpfs", str(folder)], capture_output=True
        )
        self.mounted = mounted.returncode == 0
        self.full = True

    def start(self) -> None:
        """Start it, and return when it lives."""
        options = ["--bind", f"127.0.0.1:{self.port}", "--worker-class", "gthread", "--threads", "4"]
        limit = (
            None if self.mounted or not self.full else lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (ROOM,) * 2)
        )
        command = [sys.executable, "-m", "gunicorn", "fleet.wsgi", "--no-control-socket", "--log-level", "critical"]
        self.process = subprocess.Popen([*command, *options], cwd=ROOT, preexec_fn=limit, start_new_session=True)
        wait_for(self._lives, 60, "the server")

    def make_room(self) -> None:
        """Let it write as much as it needs."""
        self.full = False
        if self.mounted:
            subprocess.run(["mount", "-o", "remount,size=256m", str(self.folder)], check=True)
        else:
            self.stop()
            self.start()

    def stop(self) -> None:
        """Stop it."""
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()

    def unmount(self) -> None:
        """Give the memory back."""
        if self.mounted:
            subprocess.run(["umount", "-l", str(self.folder)], check=False)

    def _lives(self) -> bool:
        with suppress(urllib.error.URLError, OSError):
            urllib.request.urlopen(f"{self.origin}/healthz/live", timeout=5).close()
            return True
        return False


class Browser:
    """Enough of one to sign in and send a form."""

    def __init__(self, origin: str) -> None:
        jar = http.cookiejar.CookieJar()
        self.origin, self.open = origin, urllib.request.build_opener(urllib.request.HTTPCookieProcessor(jar)).open

    def get(self, path: str) -> str:
        """The page at an address."""
        return str(self.open(self.origin + path, timeout=60).read().decode())

    def sign_in(self, name: str) -> None:
        """Sign in by the form."""
        fields = {"csrfmiddlewaretoken": self.token("/accounts/login/"), "username": name, "password": PASSWORD}
        self.open(self.origin + "/accounts/login/", urllib.parse.urlencode(fields).encode(), timeout=60).close()

    def token(self, path: str) -> str:
        """What a page's form must send back."""
        found = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', self.get(path))
        if found is None:
            raise SystemExit(f"FAILED: no form at {path}.")
        return found[1]

    def send(self, path: str, source: str, content: bytes) -> tuple[int, str, str]:
        """Send a file by a form; the status, where it led, and what it said."""
        mark, parts = b"----trips", []
        for name, value in (("csrfmiddlewaretoken", self.token(path)), ("source", source)):
            parts.append(
                b'--%s\r\nContent-Disposition: form-data; name="%s"\r\n\r\n%s\r\n'
                % (mark, name.encode(), value.encode())
            )
        head = b'--%s\r\nContent-Disposition: form-data; name="file"; filename="trips.csv"\r\n' % mark
        parts.append(head + b"Content-Type: text/csv\r\n\r\n" + content + b"\r\n--%s--\r\n" % mark)
        kind = {"Content-Type": f"multipart/form-data; boundary={mark.decode()}"}
        request = urllib.request.Request(self.origin + path, b"".join(parts), kind)
        try:
            with self.open(request, timeout=120) as answer:
                return int(answer.status), str(answer.url), ""
        except urllib.error.HTTPError as error:
            return error.code, "", error.read().decode()


def trips(rows: int) -> bytes:
    """A file of trips of one truck, a quarter of an hour each."""
    lines = ["truck,start,duration_h,distance_km,fuel_l"]
    for number in range(rows):
        at = time.gmtime(1_700_000_000 + 900 * number)
        lines.append(f"1,{time.strftime('%Y-%m-%d %H:%M', at)},0.25,{15 + number % 9},{5 + number % 4}")
    return "\n".join(lines).encode() + b"\n"


def left_over(folder: Path) -> list[Path]:
    """Files of an upload that stayed behind."""
    return [path for part in ("arriving", "media") for path in (folder / part).rglob("*") if path.is_file()]


def run(server: Server, rows: int) -> int:
    """Return 0 when nothing was lost, doubled or left behind."""
    from django.db import connection

    from fleet.imports.trips.sending import ask
    from fleet.models import Job, Trip, TripImport, User

    person, content = make_person(), trips(rows)
    connection.close()
    server.start()
    browser = Browser(server.origin)
    browser.sign_in("manager")
    status, _, said = browser.send("/register/trips/bring/", "Yard", content)
    kept, rows_then = left_over(server.folder), TripImport.objects.count()
    how = "a file system of" if server.mounted else "files of at most"
    print(
        f"{how} {ROOM:,} bytes, {len(content):,} sent: {status} {said[:60]!r}; files left {len(kept)}, rows {rows_then}"
    )
    works = "Fleet board" in browser.get("/")
    server.make_room()
    again, _, _ = browser.send("/register/trips/bring/", "Yard", content)
    sent = TripImport.objects.get()
    worker = start_worker()
    try:
        job = ask(user=User.objects.get(pk=person.pk), key=sent.key, trial=False)
        wait_for(lambda: not Job.objects.get(pk=job.pk).is_open, 180, "the end of the import")
    finally:
        os.killpg(worker.pid, signal.SIGKILL)
        worker.wait()
    stored = Trip.objects.count()
    print(f"with room: {again}, {stored:,} trips of {rows:,} lines; the page worked while the disk was full: {works}")
    print(f"lost = {rows - stored}, doubled = {TripImport.objects.count() - 1}")
    told = status == 507 and "disk is full" in said
    return 0 if told and works and not kept and not rows_then and stored == rows else 1


def make_person() -> Any:
    """A manager with a truck to bring trips for."""
    from fleet.models import Depot, Membership, Truck, User

    depot = Depot.objects.create(name="Far Yard", code="FAR")
    person = User.objects.create_user("manager", password=PASSWORD)
    Membership.objects.create(user=person, depot=depot, role="manager")
    Truck.objects.create(depot=depot, unit_number="1", in_service_on="2023-01-01")
    return person


def main() -> int:
    """Read the command line and run."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--rows", type=int, default=200_000)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="register-full-") as folder:
        # The database stands on a disk with room: what is full is where files are kept.
        os.environ.setdefault("DATABASE_URL", f"sqlite:///{folder}/register.sqlite3")
        small = Path(folder) / "var"
        small.mkdir()
        server = Server(small)
        try:
            prepare(str(small), "")
            from django.core.management import call_command

            call_command("migrate", verbosity=0, run_syncdb=True)
            return run(server, options.rows)
        finally:
            with suppress(AttributeError, ProcessLookupError):
                server.stop()
            server.unmount()


if __name__ == "__main__":
    sys.exit(main())
