"""What a table's file says of itself: a Data Resource with a Table Schema (datapackage.org, version 2)."""

import inspect
from typing import Any

from django.db import models

from fleet.management.openfiles.cells import MISSING, is_named, kind_of, may_miss_text
from fleet.management.openfiles.tables import NAMED, AnyField, Table, unit_of

PROFILE = "https://datapackage.org/profiles/2.0/datapackage.json"
TYPES: tuple[tuple[type[models.Field], dict[str, str]], ...] = (
    (models.BooleanField, {"type": "boolean"}),
    (models.DateTimeField, {"type": "datetime"}),
    (models.DateField, {"type": "date"}),
    (models.TimeField, {"type": "time"}),
    (models.IntegerField, {"type": "integer"}),
    (models.FloatField, {"type": "number"}),
    (models.DecimalField, {"type": "number"}),
    # Any JSON, and Table Schema's object and array are each but a part of it.
    (models.JSONField, {"type": "string"}),
    (models.UUIDField, {"type": "string", "format": "uuid"}),
    (models.BinaryField, {"type": "string", "format": "binary"}),
)


def resource(table: Table, digest: str, size: int, rows: int) -> dict[str, Any]:
    """Describe a table's file."""
    schema = {
        "fields": [_field(field) for field in table.fields],
        "primaryKey": table.keys,
        "foreignKeys": [_reference(field) for field in table.fields if _points(field)],
        "missingValues": [""],
    }
    return {
        "name": table.name.replace("_", "-"),
        "path": f"{table.name}.csv",
        "title": str(table.model._meta.verbose_name_plural),
        "description": _meaning(table.model),
        "profile": "tabular-data-resource",
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "bytes": size,
        "hash": f"sha256:{digest}",
        "rows": rows,
        "schema": schema,
    }


def _field(field: AnyField) -> dict[str, Any]:
    told: dict[str, Any] = {"name": field.column, "title": str(field.verbose_name), **_type(field)}
    if unit := unit_of(field):
        told["unit"] = unit
    if may_miss_text(field):
        told["missingValues"] = [MISSING]
    told["description"] = _about(field, unit)
    constraints: dict[str, Any] = {}
    if field.unique and not field.null:
        constraints["unique"] = True
    if not field.null and not _may_be_empty(field):
        constraints["required"] = True
    if field.choices and told["type"] == "string" and not field.blank:
        constraints["enum"] = [str(value) for value, _ in field.flatchoices]
    return told | ({"constraints": constraints} if constraints else {})


def _type(field: AnyField) -> dict[str, str]:
    if is_named(field):
        return {"type": "string"}
    kind = kind_of(field)
    return next((dict(told) for base, told in TYPES if isinstance(kind, base)), {"type": "string"})


def _may_be_empty(field: AnyField) -> bool:
    return isinstance(kind_of(field), models.CharField | models.TextField | models.FileField | models.BinaryField)


def _about(field: AnyField, unit: str) -> str:
    told = [str(field.help_text).strip() or f"{str(field.verbose_name).capitalize()}."]
    if unit:
        told.append(f"In {unit}.")
    if _points(field):
        told.append(f"A row of {_target(field)}.")
    if is_named(field):
        told.append("Named by its words, since each installation numbers these for itself.")
    if field.choices:
        told.append("; ".join(f"{value}: {label}" for value, label in field.flatchoices) + ".")
    kind = kind_of(field)
    if isinstance(kind, models.JSONField):
        told.append("A JSON text.")
    if isinstance(kind, models.BinaryField):
        told.append("Base64.")
    if may_miss_text(field):
        told.append(f"{MISSING} is none; a text that begins with \\ has one more before it.")
    return " ".join(told)


def _points(field: AnyField) -> bool:
    # A past state may point at what is gone, and a trip's truck is not looked up in the database.
    is_held = getattr(field, "db_constraint", False)
    return isinstance(field, models.ForeignKey) and field.related_model not in NAMED and is_held


def _target(field: Any) -> str:
    return str(field.related_model._meta.db_table)


def _reference(field: Any) -> dict[str, Any]:
    target = _target(field).replace("_", "-")
    return {"fields": [field.column], "reference": {"resource": target, "fields": [field.target_field.column]}}


def _meaning(model: type[models.Model]) -> str:
    if hasattr(model, "history_object"):
        of = getattr(model, "instance_type", model)._meta.db_table
        return f"Every past state of {of}: what was changed when, by whom and why."
    if model._meta.auto_created:
        return "Which rows of two tables belong together."
    return inspect.cleandoc(model.__doc__ or "") or str(model._meta.verbose_name_plural)
