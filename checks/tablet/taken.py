"""What a step's answers come to."""

from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True, slots=True)
class Taken:
    """Answers to keep, and where to go: the next step, stay on this one, or `to` a named one."""

    answers: dict[str, Any] = field(default_factory=dict)
    stay: bool = False
    to: str = ""
