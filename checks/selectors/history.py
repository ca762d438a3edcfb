"""Who changed what, when and why, from the histories that every register row keeps."""

from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from typing import Any

from django.db import models

KINDS = {"+": "entered", "~": "changed", "-": "removed"}
# What was typed is shown with the value that it belongs to, not as a change of its own.
SILENT = {"id", "typed"}


@dataclass(frozen=True, slots=True)
class Difference:
    """One field, as it was and as it became, both in words."""

    label: str
    old: str
    new: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One entry of a row's history."""

    at: datetime
    who: str
    kind: str
    reason: str
    differences: tuple[Difference, ...]


def changes_of(row: models.Model, *, newest: int = 50) -> list[Change]:
    """The newest changes of a row that keeps a history; one query."""
    records = list(row.history.select_related("history_user")[: newest + 1])  # type: ignore[attr-defined]
    found = [_change(record, older) for record, older in pairwise([*records, None])]
    return found[:newest]


def _change(record: Any, older: Any) -> Change:
    user = record.history_user
    return Change(
        at=record.history_date,
        who=user.display_name if user else "",
        kind=KINDS[record.history_type],
        reason=record.history_change_reason or "",
        differences=_differences(record, older) if older is not None else (),
    )


def _differences(record: Any, older: Any) -> tuple[Difference, ...]:
    fields = [field for field in record.instance_type._meta.concrete_fields if field.name not in SILENT]
    return tuple(
        Difference(str(field.verbose_name), _words(older, field), _words(record, field))
        for field in fields
        if getattr(older, field.attname) != getattr(record, field.attname)
    )


def _words(record: Any, field: "models.Field[Any, Any]") -> str:
    typed = getattr(record, "typed", {}).get(field.name)
    if typed:
        return " ".join(typed)
    value = getattr(record, field.attname)
    if field.choices and value not in (None, ""):
        return str(dict(field.flatchoices).get(value, value))
    return "nothing" if value in (None, "") else f"{value:g}" if isinstance(value, float) else str(value)
