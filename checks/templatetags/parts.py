"""Template tags of the components; ``{% load parts %}``."""

from functools import cache
from typing import Any

from django import template
from django.template.loader import render_to_string
from django.utils.safestring import SafeString

from checks import components
from checks.components.code_mark import CodeMark
from checks.components.stroke_plot import StrokePlot
from checks.components.window_strip import SIZES
from checks.components.words import linked_term, methods_named

register = template.Library()


@register.simple_tag(name="state_word")
@cache
def show_state_word(state: str) -> SafeString:
    """Draw a state: mark of its own shape, then its word."""
    return render_to_string("checks/components/state_word.html", {"part": components.state_word(state)})


@register.inclusion_tag("checks/components/window_strip.html", name="window_strip")
def show_window_strip(strip: components.WindowStrip) -> dict[str, Any]:
    """Draw a window strip."""
    readings = [(reading, _mark(reading.state, reading.hollow, strip.size.name)) for reading in strip.readings]
    return {"strip": strip, "frame": _frame(strip.size.name), "readings": readings}


@cache
def _mark(state: str, hollow: bool, size: str) -> SafeString:
    scale = SIZES[size].mark_scale
    return render_to_string("checks/components/strip_mark.html", {"state": state, "hollow": hollow, "scale": scale})


@cache
def _frame(size: str) -> SafeString:
    return render_to_string("checks/components/strip_frame.html", {"size": SIZES[size]})


@register.inclusion_tag("checks/components/budget_table.html", name="budget_table")
def show_budget_table(table: components.BudgetTable | None) -> dict[str, Any]:
    """Draw an uncertainty budget."""
    return {"table": table}


@register.inclusion_tag("checks/components/stroke_plot.html", name="stroke_plot")
def show_stroke_plot(plot: StrokePlot) -> dict[str, Any]:
    """Draw the plot of a stroke."""
    return {"plot": plot}


@register.inclusion_tag("checks/components/code_mark.html", name="code_mark")
def show_code_mark(mark: CodeMark, label: str) -> dict[str, Any]:
    """Draw a square code; `label` says what it leads to."""
    return {"mark": mark, "label": label}


@register.simple_tag(name="how")
@cache
def show_how(*keys: str) -> SafeString:
    """Lead to how the numbers of a page are computed: the keys of their methods, as they stand on it."""
    return render_to_string("checks/components/how.html", {"methods": methods_named(*keys)})


@register.filter(name="term")
def show_term(text: str) -> SafeString | str:
    """Lead from a word to what it means."""
    return linked_term(text)
