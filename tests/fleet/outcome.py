"""A call's value, or the refusal that it raised."""

from collections.abc import Callable
from typing import Any

from fleet.problems import FleetError


def outcome(call: Callable[..., Any], *arguments: Any, **named: Any) -> tuple[Any, FleetError | None]:
    """Return value and None, or None and the refusal."""
    try:
        return call(*arguments, **named), None
    except FleetError as error:
        return None, error
