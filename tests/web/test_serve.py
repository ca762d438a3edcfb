"""The command that serves a person's own machine."""

import socket
import sys

import pytest
from django.core.management import CommandError, call_command

from fleet.management.commands.serve import _start, stop, wait_until_up
from tests.ports import free_port


@pytest.fixture
def busy():
    """A port that something else listens on."""
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        yield other.getsockname()[1]


def test_a_busy_port_is_named_with_another_to_take(busy: int) -> None:
    with pytest.raises(CommandError, match=f"Port {busy} is in use. Choose another: PORT={busy + 1}"):
        call_command("serve", str(busy))


def test_a_free_port_passes(busy: int) -> None:
    assert call_command("serve", str(free_port()), check_port=True) is None


def test_a_child_that_dies_at_once_is_reported_instead_of_waited_for() -> None:
    child = _start(sys.executable, "-c", "raise SystemExit(3)")
    with pytest.raises(CommandError, match="did not start"):
        wait_until_up("http://127.0.0.1:9/", [child], seconds=30)


def test_a_child_that_will_not_stop_is_stopped() -> None:
    deaf = "import signal, time; signal.signal(signal.SIGTERM, signal.SIG_IGN); print('up', flush=True); time.sleep(60)"
    child = _start(sys.executable, "-c", deaf)
    stop([child], patience_s=1)
    assert child.returncode is not None
