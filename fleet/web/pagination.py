"""Pages of long lists by position in the order, so that page 1,000 costs what page 1 costs."""

import base64
import binascii
import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import ValidationError
from django.db.models import Q, QuerySet
from rest_framework.pagination import CursorPagination
from rest_framework.request import Request

from fleet.problems import FleetError


class ApiPagination(CursorPagination):
    """Pages of the interface for programs."""

    page_size = 50
    max_page_size = 500
    page_size_query_param = "page_size"
    ordering = "pk"

    def get_page_size(self, request: Request) -> int | None:
        """How many rows are asked for. Raises FleetError where that is no number of rows."""
        text = request.query_params.get("page_size")
        if text is None:
            return self.page_size
        if not (text.isdecimal() and len(text) < 6 and 1 <= int(text) <= self.max_page_size):
            sentence = f"'{text[:20]}' is no number of rows: ask for 1 to {self.max_page_size}."
            raise FleetError("page_size", "page_size", sentence)
        return int(text)

    def get_schema_operation_parameters(self, view: Any) -> list[dict[str, Any]]:
        """The same for the description."""
        described = super().get_schema_operation_parameters(view)
        for parameter in described:
            if parameter["name"] == "page_size":
                parameter["schema"] |= {"minimum": 1, "maximum": self.max_page_size}
        return described


@dataclass(frozen=True, slots=True)
class Page:
    """One page of rows, and the mark to ask for the next with; empty at the end."""

    rows: list[Any]
    next_mark: str


def page_after(rows: QuerySet[Any], *, order: Sequence[str], mark: str = "", size: int = 50) -> Page:
    """Return the page of `rows` that follows `mark`, in one query that reads `size` + 1 rows.

    `order` names columns, with ``-`` for falling, none of which may be empty (NULL); the last must be unique.
    """
    found = rows.order_by(*order)
    if mark:
        try:
            found = found.filter(_beyond(order, _read(mark, len(order))))
        except (ValueError, TypeError, ValidationError) as error:  # values of other columns
            raise _unknown() from error
    page = list(found[: size + 1])
    more = len(page) > size
    last = [_value(page[size - 1], name.lstrip("-")) for name in order] if more else []
    return Page(page[:size], _write(last) if more else "")


def _beyond(order: Sequence[str], values: Sequence[Any]) -> Q:
    beyond, equal = Q(pk__in=[]), Q()
    for name, value in zip(order, values, strict=True):
        column = name.lstrip("-")
        beyond |= equal & Q(**{f"{column}__{'lt' if name.startswith('-') else 'gt'}": value})
        equal &= Q(**{column: value})
    # Says nothing new, but an index can begin there; of the alternatives alone a database reads all that came before.
    first = order[0]
    return beyond & Q(**{f"{first.lstrip('-')}__{'lte' if first.startswith('-') else 'gte'}": values[0]})


def _value(row: Any, path: str) -> Any:
    for part in path.split("__"):
        row = row[part] if isinstance(row, dict) else getattr(row, part)
    return row if isinstance(row, int | float | str | None) else row.isoformat()


def _write(values: list[Any]) -> str:
    return base64.urlsafe_b64encode(json.dumps(values).encode()).decode().rstrip("=")


def first_key(mark: str, order: Sequence[str]) -> int:
    """The whole number where a page ended in its first column; 0 without a mark. Raises FleetError."""
    value = _read(mark, len(order))[0] if mark else 0
    if not isinstance(value, int):
        raise _unknown()
    return value


def _read(mark: str, length: int) -> list[Any]:
    try:
        values = json.loads(base64.urlsafe_b64decode(mark + "=" * (-len(mark) % 4)))
    except (ValueError, binascii.Error):
        values = None
    if not isinstance(values, list) or len(values) != length or not all(map(_is_plain, values)):
        raise _unknown()
    return values


def _is_plain(value: Any) -> bool:
    """Whether a database can compare with it."""
    if isinstance(value, int | float):
        return abs(value) < 2**63
    return isinstance(value, str) and "\0" not in value


def _unknown() -> FleetError:
    return FleetError("page_mark_unknown", "after", "This page of the list cannot be found. Start from the first.")
