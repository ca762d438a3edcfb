"""A value as text and back, exactly."""

import base64
import json
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

from django.contrib.auth.models import Permission
from django.contrib.contenttypes.models import ContentType
from django.db import models

from fleet.management.openfiles.tables import NAMED, AnyField

# In a column of texts that may be missing, an empty cell is an empty text and this is a missing one.
MISSING = "\\N"
Write = Callable[[Any], str]
Read = Callable[[str], Any]


def kind_of(field: AnyField) -> AnyField:
    """Return the field whose values a column holds: for a reference, the key that it refers to."""
    while isinstance(field, models.ForeignKey):
        field = field.target_field
    return field


def is_named(field: AnyField) -> bool:
    """Whether a column points at what the software numbers for itself."""
    return isinstance(field, models.ForeignKey) and field.related_model in NAMED


def may_miss_text(field: AnyField) -> bool:
    """Whether a column must tell an empty text from a missing one."""
    return field.null and isinstance(kind_of(field), models.CharField | models.TextField) and not is_named(field)


def writer(field: AnyField) -> Write:
    """Return what makes a cell of a value."""
    if is_named(field):
        names = {key: word for word, key in _names(field).items()}
        return lambda value: "" if value is None else names[value]
    write = _write(kind_of(field))
    if may_miss_text(field):
        # What begins like the sign for missing gets another stroke before it.
        return lambda value: MISSING if value is None else f"\\{value}" if value.startswith("\\") else write(value)
    return lambda value: "" if value is None else write(value)


def reader(field: AnyField) -> Read:
    """Return what makes a value of a cell."""
    if is_named(field):
        names = _names(field)
        return lambda cell: names[cell] if cell else None
    read = _read(kind_of(field))
    if may_miss_text(field):
        return lambda cell: None if cell == MISSING else cell.removeprefix("\\") if cell.startswith("\\") else cell
    return lambda cell: None if cell == "" and field.null else read(cell)


def _write(field: AnyField) -> Write:
    if isinstance(field, models.JSONField):
        # In one order, since PostgreSQL keeps none: the same value is the same text whatever database it came from.
        return lambda value: json.dumps(value, ensure_ascii=False, sort_keys=True, cls=field.encoder)
    if isinstance(field, models.BinaryField):
        return lambda value: base64.b64encode(bytes(value)).decode()
    if isinstance(field, models.BooleanField):
        return lambda value: "true" if value else "false"
    if isinstance(field, models.FloatField):
        return lambda value: repr(float(value)).replace("inf", "INF").replace("nan", "NaN")
    if isinstance(field, models.DateTimeField):
        return _moment
    return str


def _read(field: AnyField) -> Read:
    if isinstance(field, models.JSONField):
        return lambda cell: json.loads(cell, cls=field.decoder)
    if isinstance(field, models.BinaryField):
        return lambda cell: base64.b64decode(cell, validate=True)
    if isinstance(field, models.BooleanField):
        return lambda cell: {"true": True, "false": False}[cell]
    if isinstance(field, models.FloatField):
        return float
    return field.to_python


def _moment(value: datetime) -> str:
    return value.astimezone(UTC).isoformat().replace("+00:00", "Z")


def _names(field: AnyField) -> dict[str, Any]:
    """Return the words for each row that the software made, such as fleet.truck or fleet.truck.add_truck."""
    kinds = {kind.pk: f"{kind.app_label}.{kind.model}" for kind in ContentType.objects.all()}
    if field.related_model is ContentType:
        return {name: key for key, name in kinds.items()}
    return {f"{kinds[row.content_type_id]}.{row.codename}": row.pk for row in Permission.objects.all()}
