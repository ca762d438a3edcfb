"""The record of changes: who changed what, when and why."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import ForeignKey, Model, QuerySet

# The latest changes of one kind of row that a page shows; the rest stays in the database.
MOST = 200
VERBS = {"+": "recorded", "~": "changed", "-": "deleted"}


@dataclass(frozen=True, slots=True)
class Change:
    """One entry: `sentences` name each value that differs, as 'was → is'."""

    when: datetime
    who: str
    what: str
    sentences: tuple[str, ...]
    why: str


def record_of_changes(*histories: QuerySet[Any]) -> list[Change]:
    """Entries of the given histories, latest first; one query for each history."""
    entries = [change for history in histories for change in _entries(history)]
    return sorted(entries, key=lambda change: change.when, reverse=True)


def _entries(history: QuerySet[Any]) -> Iterable[Change]:
    model = history.model.instance_type
    links = [field.name for field in model._meta.fields if isinstance(field, ForeignKey)]
    rows = list(history.select_related("history_user", *links).order_by("-history_id")[:MOST])
    before: dict[Any, Any] = {}
    for row in reversed(rows):
        who = row.history_user.display_name if row.history_user else "the system"
        what = f"{model._meta.verbose_name} {VERBS[row.history_type]}"
        differing = tuple(_differing(model, before.get(row.id), row)) if row.id in before else ()
        before[row.id] = row
        yield Change(row.history_date, who, what, differing, row.history_change_reason or "")


def _differing(model: type[Model], old: Any, new: Any) -> Iterable[str]:
    for field in model._meta.fields:
        was, now = getattr(old, field.attname), getattr(new, field.attname)
        if was != now:
            yield f"{field.verbose_name}: {_shown(field, old)} → {_shown(field, new)}"


def _shown(field: Any, row: Any) -> str:
    value = getattr(row, field.attname)
    if value is None or value == "":
        return "nothing"
    if isinstance(field, ForeignKey):
        linked = getattr(row, field.name, None)
        return str(linked) if linked is not None else f"number {value}"
    if field.choices:
        return str(dict(field.flatchoices).get(value, value))
    if isinstance(value, date):
        return f"{value:%-d %b %Y}"
    return f"{value:,.1f}" if isinstance(value, float) else str(value)
