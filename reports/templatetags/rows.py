"""Template tags of the rows of lists; ``{% load rows %}``."""

from functools import lru_cache

from django import template
from django.template.loader import render_to_string
from django.utils.safestring import SafeString

from reports.selectors.units import UnitRow

register = template.Library()
# Some hundred pages; about two kilobytes each.
ROWS_KEPT = 4000


@register.simple_tag(name="board_row")
def show_board_row(unit: UnitRow, works: frozenset[str]) -> SafeString:
    """Draw a unit's row of the board; `works` names the depots where whoever looks may do more."""
    return _board_row(unit, unit.depot in works)


@lru_cache(maxsize=ROWS_KEPT)
def _board_row(unit: UnitRow, may_complain: bool) -> SafeString:
    """Kept by all that it shows, so that it is never an old one: many people look at the same board."""
    return render_to_string("reports/board_row.html", {"unit": unit, "may_complain": may_complain})
