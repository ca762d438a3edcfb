"""What the fault scripts share: servers of their own on this machine, jobs that are easy to count, and the count."""

import os
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).resolve().parents[3]
sys.path.insert(0, str(ROOT))

from tests.ports import free_port

CHUNKS, ROWS = 30, 20


class Redis:
    """A broker without persistence: what it held when it was killed is lost."""

    def __init__(self, folder: str) -> None:
        self.folder, self.port = folder, free_port()
        self.url = f"redis://127.0.0.1:{self.port}/0"

    def start(self) -> None:
        """Start it, and return when it answers."""
        options = ["--port", str(self.port), "--bind", "127.0.0.1", "--save", "", "--appendonly", "no"]
        self.process = subprocess.Popen(
            ["redis-server", *options, "--dir", self.folder], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        end = time.monotonic() + 20
        while time.monotonic() < end:
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", self.port)) == 0:
                    return
            time.sleep(0.05)
        raise SystemExit("FAILED: redis-server did not start.")

    def kill(self) -> None:
        """Kill it with -9."""
        self.process.kill()
        self.process.wait()


class Postgres:
    """A cluster that keeps what was committed, as a fleet's own does (fsync on)."""

    def __init__(self, folder: str) -> None:
        os.chmod(folder, 0o755)
        self.bin = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda path: int(path.parent.name))[-1]
        self.home, self.port = Path(folder) / "pg", free_port()
        self.home.mkdir()
        if os.getuid() == 0:
            shutil.chown(self.home, "postgres")
        self.url = f"postgres://register@/register?host={self.home}&port={self.port}"
        self._run("initdb", "-D", self.home / "data", "-U", "register", "--auth=trust", "--encoding=UTF8")
        self.start()
        self._run("createdb", "-h", self.home, "-p", str(self.port), "-U", "register", "register")

    def start(self) -> None:
        """Start it, and return when it answers."""
        options = f"-p {self.port} -k {self.home} -c listen_addresses=''"
        self._run("pg_ctl", "-D", self.home / "data", "-w", "-l", self.home / "log", "-o", options, "start")

    def crash(self) -> None:
        """Stop it as a lost machine would: no checkpoint, every connection cut."""
        self._run("pg_ctl", "-D", self.home / "data", "-m", "immediate", "stop")

    def _run(self, name: str, *options: object) -> None:
        command = [str(self.bin / name), *map(str, options)]
        if os.getuid() == 0:
            command = ["runuser", "-u", "postgres", "--", *command]
        subprocess.run(command, check=True, cwd="/", stdout=subprocess.DEVNULL)


def start_worker(*options: str, **told: str) -> subprocess.Popen[bytes]:
    """Start one worker with two processes, in a group of its own; an outage is loud, so it speaks to a file.

    `told` is set in its environment beside ours.
    """
    command = [sys.executable, str(ROOT / "manage.py"), "work", "--processes", "2", *options]
    with (Path(os.environ["VAR_DIR"]) / "worker.log").open("ab") as log:
        return subprocess.Popen(
            command, cwd=ROOT, env=os.environ | told, start_new_session=True, stdout=log, stderr=log
        )


@contextmanager
def workers(count: int) -> Iterator[list[subprocess.Popen[bytes]]]:
    """`count` workers, each with its beat, killed at the end."""
    started = [start_worker() for _ in range(count)]
    try:
        yield started
    finally:
        for worker in started:
            if worker.poll() is None:
                os.killpg(worker.pid, signal.SIGKILL)
                worker.wait()


def ask_for(first: int, count: int) -> None:
    """Ask for `count` jobs, each copying numbers that no other copies."""
    from fleet.jobs.requests import enqueue

    for number in range(first, first + count):
        arguments = {"chunks": CHUNKS, "rows": ROWS, "offset": number * CHUNKS * ROWS}
        enqueue(kind="copy", arguments=arguments, key=f"copy {number}")


def done() -> int:
    """How many numbers stand there."""
    from tests.load.copying.models import Copied

    return Copied.objects.count()


def all_over() -> bool:
    """Whether no job waits or runs."""
    from fleet.models import Job

    return not Job.objects.filter(state__in=["queued", "running"]).exists()


def told(jobs: int) -> int:
    """Print what was lost and doubled of `jobs` jobs; return 0 when nothing was and each is done."""
    from fleet.models import Job
    from tests.load.copying.models import Copied

    wanted, rows = jobs * CHUNKS * ROWS, Copied.objects.count()
    distinct = Copied.objects.values("number").distinct().count()
    total = sum(Copied.objects.values_list("number", flat=True))
    states = sorted(set(Job.objects.filter(kind="copy").values_list("state", flat=True)))
    print(f"jobs {jobs}, states = {states}, sum {total:,} of {wanted * (wanted - 1) // 2:,}")
    print(f"lost = {wanted - distinct}, doubled = {rows - distinct}")
    return 0 if (states, rows, distinct) == (["done"], wanted, wanted) else 1
