"""Which function does which kind of job. A kind is one line in some app's ``ready()`` and no migration."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeAlias

from django.utils.module_loading import import_string

from fleet.jobs.run import Run
from fleet.problems import FleetError

Handler: TypeAlias = Callable[[Run], dict[str, Any] | None]
Upkeep: TypeAlias = Callable[[], object]


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of job: what does it, or the dotted name of that, and its name as a person reads it."""

    does: Handler | str
    label: str

    @property
    def handler(self) -> Handler:
        """What does it. Given by name, its code is loaded with the first job, and never where no job runs."""
        return import_string(self.does) if isinstance(self.does, str) else self.does


_kinds: dict[str, Kind] = {}
_on_tick: list[Upkeep | str] = []


def register(kind: str, does: Handler | str, *, label: str) -> None:
    """Let `does` do the jobs of `kind`; it returns the job's result, or nothing."""
    known = _kinds.get(kind)
    if known and known.does != does:
        raise ValueError(f"The job kind '{kind}' has a handler already.")
    _kinds[kind] = Kind(does, label)


def kind_of(kind: str) -> Kind:
    """Return a registered kind."""
    if kind not in _kinds:
        raise FleetError("unknown_job_kind", "kind", f"No installed app does jobs of the kind '{kind}'.")
    return _kinds[kind]


def kinds() -> list[str]:
    """Return the names of all registered kinds, in order."""
    return sorted(_kinds)


def on_tick(upkeep: Upkeep | str) -> None:
    """Let `upkeep` run at every beat: quick where there is nothing to do, harmless when done twice."""
    if upkeep not in _on_tick:
        _on_tick.append(upkeep)


def upkeep() -> tuple[Upkeep, ...]:
    """Return what runs at every beat."""
    return tuple(import_string(work) if isinstance(work, str) else work for work in _on_tick)
