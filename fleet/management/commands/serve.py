"""Run the web server and a worker together, and stop both together."""

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from argparse import ArgumentParser
from types import FrameType
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

THREADS = 8


class Command(BaseCommand):
    """Serve this machine's own people; a deployment runs gunicorn and ``work`` under its own supervisor."""

    help = "Run the web server and a job worker on this machine until Ctrl-C."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("port", type=int, nargs="?", default=8000)
        parser.add_argument("--check-port", action="store_true", help="only say whether the port is free")

    def handle(self, *args: Any, port: int, check_port: bool, **options: Any) -> None:
        refuse_busy(port)
        if check_port:
            return
        signal.signal(signal.SIGTERM, _as_interrupt)
        children = [_start(*gunicorn(port)), _start(sys.executable, "manage.py", "work")]
        try:
            self._watch(children, port)
        except KeyboardInterrupt:
            self.stdout.write("\nStopping ...")
        finally:
            stop(children)
        self.stdout.write("Stopped. What was entered is kept.")

    def _watch(self, children: list[subprocess.Popen[bytes]], port: int) -> None:
        address = f"http://127.0.0.1:{port}/"
        wait_until_up(address, children)
        self.stdout.write(f"\n  Open {address}\n  Ctrl-C stops the server and the worker.\n")
        while all(child.poll() is None for child in children):
            time.sleep(0.5)
        raise CommandError("The server or the worker stopped by itself; its last lines above say why.")


def refuse_busy(port: int) -> None:
    """Stop with the fix when something else listens on the port."""
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind(("127.0.0.1", port))
        except OSError as error:
            raise CommandError(
                f"Port {port} is in use. Choose another: PORT={port + 1} make serve, or make demo"
            ) from error


def gunicorn(port: int) -> list[str]:
    """Return the command line of the web server."""
    options = ["--worker-class", "gthread", "--threads", str(THREADS), "--log-level", "warning"]
    return [sys.executable, "-m", "gunicorn", "fleet.wsgi", "--bind", f"127.0.0.1:{port}", *options]


def wait_until_up(address: str, children: list[subprocess.Popen[bytes]], seconds: float = 60) -> None:
    """Return when the server answers; stop when a child died or the time is over."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if any(child.poll() is not None for child in children):
            raise CommandError("The server or the worker did not start; the lines above say why.")
        try:
            urllib.request.urlopen(f"{address}healthz", timeout=5).close()  # noqa: S310
        except (urllib.error.URLError, OSError):
            time.sleep(0.2)
        else:
            return
    raise CommandError(f"The server did not answer within {seconds:.0f} s.")


def stop(children: list[subprocess.Popen[bytes]], patience_s: float = 10) -> None:
    """Ask the children to finish, then insist; a job that is cut short resumes at the next start."""
    for child in children:
        child.terminate()
    end = time.monotonic() + patience_s
    for child in children:
        try:
            child.wait(timeout=max(0.1, end - time.monotonic()))
        except subprocess.TimeoutExpired:
            child.kill()
            child.wait()


def _start(*command: str) -> subprocess.Popen[bytes]:
    # Its own session: Ctrl-C reaches this process alone, which then stops its children in order.
    quiet = {"LOG_LEVEL": "WARNING"} | os.environ
    return subprocess.Popen(command, cwd=settings.BASE_DIR, start_new_session=True, env=quiet)  # noqa: S603


def _as_interrupt(signum: int, frame: FrameType | None) -> None:
    raise KeyboardInterrupt
