"""What the apps want done at every beat is done, and one that fails does not stop the others."""

import pytest

from fleet.jobs import registry
from fleet.jobs.tasks import tick

pytestmark = pytest.mark.django_db


def test_every_beat_does_the_upkeep_even_when_one_part_fails(monkeypatch, caplog):
    done = []

    def breaks() -> None:
        raise RuntimeError("worn out")

    monkeypatch.setattr(registry, "_on_tick", [])
    registry.on_tick(breaks)
    registry.on_tick(lambda: done.append("second"))
    tick()
    tick()
    assert done == ["second", "second"]
    assert "worn out" in caplog.text


def test_upkeep_is_registered_once(monkeypatch):
    monkeypatch.setattr(registry, "_on_tick", [])

    def work() -> None:
        """Nothing."""

    registry.on_tick(work)
    registry.on_tick(work)
    assert registry.upkeep() == (work,)


def test_stale_plans_are_kept_up():
    assert "replan_stale" in [work.__name__ for work in registry.upkeep()]
