"""A worker shows that it goes round, and connects anew to a broker that was restarted behind its back."""

from pathlib import Path
from types import SimpleNamespace

import pytest
from redis.exceptions import ConnectionError as ConnectionLost

from fleet.jobs import broker
from fleet.jobs.pulse import EVERY_S, WorkerPulse


@pytest.fixture
def seen(monkeypatch) -> list[str]:
    """What the broker is at each look, the first at the start; the last stays."""
    told: list[str] = []
    monkeypatch.setattr(broker, "identity", lambda: told.pop(0) if len(told) > 1 else told[0])
    return told


@pytest.fixture
def pulse() -> WorkerPulse:
    return WorkerPulse(None)


def begin(pulse: WorkerPulse) -> list[float]:
    every: list[float] = []
    pulse.start(SimpleNamespace(timer=SimpleNamespace(call_repeatedly=lambda seconds, look: every.append(seconds))))
    return every


def look_often(pulse: WorkerPulse) -> None:
    for _ in range(4):
        pulse.look()


def test_the_file_is_touched_at_every_look(pulse: WorkerPulse, seen: list[str], tmp_path: Path, monkeypatch) -> None:
    seen[:] = ["a"]
    monkeypatch.setattr(WorkerPulse, "path", tmp_path / "pulse")
    assert begin(pulse) == [EVERY_S]
    (tmp_path / "pulse").unlink()
    pulse.look()
    assert (tmp_path / "pulse").exists()


@pytest.mark.parametrize("looks", [["a", "a", "b"], ["a", "a", "", "b"], ["a", "a", "", "a"], ["", "", "a"]])
def test_a_broker_that_came_back_makes_the_worker_connect_anew(
    pulse: WorkerPulse, seen: list[str], looks: list[str]
) -> None:
    seen[:] = looks
    begin(pulse)
    with pytest.raises(ConnectionLost):
        look_often(pulse)


@pytest.mark.parametrize("looks", [["a"], ["a", "a", ""]])
def test_a_broker_that_stays_or_is_still_away_does_not(pulse: WorkerPulse, seen: list[str], looks: list[str]) -> None:
    seen[:] = looks
    begin(pulse)
    look_often(pulse)


def test_the_error_is_one_that_the_worker_answers_by_connecting_anew() -> None:
    """As the broker's own library tells them to the worker."""
    from kombu import Connection

    assert issubclass(ConnectionLost, Connection("redis://127.0.0.1:1/0").connection_errors)
