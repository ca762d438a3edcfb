"""What a kind of file is."""

from collections.abc import Callable
from dataclasses import dataclass

from fleet.imports.columns import Cells, Column
from fleet.imports.known import Known
from fleet.imports.steps import Wish
from fleet.models import User

Planner = Callable[[Cells, Known, Wish, User], None]


@dataclass(frozen=True, slots=True)
class Format:
    """A kind of file: its columns, and what one line of it asks for."""

    name: str
    label: str
    columns: tuple[Column, ...]
    plan: Planner
