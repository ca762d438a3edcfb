"""Which tables a fleet owns, and which of their columns leave the house."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, TypeAlias

from django.apps import apps
from django.contrib.auth.models import Permission
from django.contrib.contenttypes.models import ContentType
from django.db import models

AnyField: TypeAlias = "models.Field[Any, Any]"

OURS = {"fleet", "checks", "reports", "auth", "admin"}
# Whoever holds one of these can enter, so they stay; people set them anew in the new installation.
# The mark of a demonstration tells passwords, which are others in a copy.
SECRETS = {"fleet.CalendarFeed", "fleet.Demonstration", "fleet.Token", "fleet.KeyedRequest"}
SECRET_COLUMNS = {"fleet.User.password"}
# Made by the software itself, with numbers of its own: named by their words wherever a row points at one.
NAMED = {ContentType, Permission}
# How a measure's name ends, and its unit.
UNITS = {
    "km": "km", "mm": "mm", "um": "µm", "kpa": "kPa", "pa": "Pa", "s": "s", "h": "h", "hours": "h", "days": "d",
    "l": "L", "t": "t", "m": "m", "c": "°C", "deg": "°", "kg": "kg", "bytes": "B", "percent": "%", "months": "mo",
    "ma": "mA", "v": "V",
}  # fmt: skip


@dataclass(frozen=True)
class Table:
    """One table as it goes into a file."""

    model: type[models.Model]
    fields: tuple[AnyField, ...]

    @property
    def name(self) -> str:
        return self.model._meta.db_table

    @property
    def keys(self) -> list[str]:
        """Columns of the primary key."""
        return [str(field.column) for field in self.model._meta.pk_fields]

    @property
    def columns(self) -> list[str]:
        return [str(field.column) for field in self.fields]


def tables() -> list[Table]:
    """Return every table that a fleet owns, in a fixed order."""
    found = [
        Table(model, tuple(_fields(model))) for model in apps.get_models(include_auto_created=True) if _owned(model)
    ]
    return sorted(found, key=lambda table: table.name)


def left_out() -> list[str]:
    """Say what does not leave the house, for whoever reads the files."""
    return sorted(SECRET_COLUMNS) + sorted(
        model._meta.label for model in apps.get_models() if model._meta.label in SECRETS
    )


def unit_of(field: AnyField) -> str:
    """Return the unit in which a number is kept, from the end of its name; nothing where it has none."""
    words = field.name.split("_")
    if not isinstance(field, models.FloatField | models.IntegerField | models.DecimalField) or len(words) < 2:
        return ""
    if "per" in words[1:-1]:
        at = len(words) - 1 - words[::-1].index("per")
        above, below = UNITS.get(words[at - 1], ""), UNITS.get(words[at + 1], "")
        return f"{above}/{below}" if above and below else ""
    return UNITS.get(words[-1], "")


def _owned(model: type[models.Model]) -> bool:
    return model._meta.app_label in OURS and model not in NAMED and model._meta.label not in SECRETS


def _fields(model: type[models.Model]) -> Iterator[AnyField]:
    for field in model._meta.concrete_fields:
        if field.column and f"{model._meta.label}.{field.name}" not in SECRET_COLUMNS:
            yield field
