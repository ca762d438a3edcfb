"""Kinds of jobs for tests alone."""

from collections.abc import Callable
from typing import Any

import pytest

from fleet.jobs import registry
from fleet.jobs.run import Run

Registrar = Callable[[str, Callable[[Run], dict[str, Any] | None]], None]


@pytest.fixture
def kind(monkeypatch: pytest.MonkeyPatch) -> Registrar:
    """Return a function that registers a kind of job until the test ends."""
    monkeypatch.setattr(registry, "_kinds", {})
    return lambda name, handler: registry.register(name, handler, label=name.title())
