"""Template tags of the components; ``{% load parts %}``."""

from functools import cache
from typing import Any

from django import template
from django.template.loader import render_to_string
from django.utils.html import escape
from django.utils.safestring import SafeString

from checks import components
from checks.components.code_mark import CodeMark
from checks.components.stroke_plot import StrokePlot
from checks.components.window_strip import SIZES, PlacedReading
from checks.components.words import linked_term, methods_named

register = template.Library()


@register.simple_tag(name="state_word")
@cache
def show_state_word(state: str) -> SafeString:
    """Draw a state: mark of its own shape, then its word."""
    return render_to_string("checks/components/state_word.html", {"part": components.state_word(state)})


@register.simple_tag(name="window_strip")
def show_window_strip(strip: components.WindowStrip) -> SafeString:
    """Draw a window strip: in code, since a board draws fifty, and a template takes ten times as long."""
    size, words = strip.size, escape(strip.sentence)
    shape = f'viewBox="0 0 {size.width} {size.height}" width="{size.width}" height="{size.height}"'
    fan = "".join(
        f'<rect class="fan-{band.share}" x="{band.x}" y="{band.y}" width="{band.width}" height="{band.height}"/>'
        for band in strip.fan
    )
    readings = "".join(_reading(reading, size.name) for reading in strip.readings)
    return SafeString(
        f'<svg class="strip {size.name}" {shape} role="img" aria-label="{words}"><title>{words}</title>'
        f'{_frame(size.name)}{fan}<path class="nominal" d="{strip.nominal_path}"/>{readings}{_limit_words(strip)}</svg>'
    )


def _reading(reading: PlacedReading, size: str) -> str:
    whisker = f'<path class="whisker" d="{reading.whisker_path}"/>' if reading.whisker else ""
    arrow = f'<path class="line" d="{reading.arrow_path}"/>' if reading.beyond else ""
    mark = _mark(reading.state, reading.hollow, size)
    return f'<g class="mark-{escape(reading.state)}">{whisker}{arrow}<g transform="{reading.transform}">{mark}</g></g>'


def _limit_words(strip: components.WindowStrip) -> str:
    """What the limits and the nominal are, under a strip that has room for it."""
    size = strip.size
    if size.name != "large":
        return ""
    words = (
        (size.band_x, strip.words_y, f"lower {strip.lower_text}"),
        (strip.nominal_x, strip.nominal_words_y, f"nominal {strip.nominal_text}"),
        (size.band_end, strip.words_y, f"upper {strip.upper_text}"),
    )
    drawn = (f'<text x="{x}" y="{y}" text-anchor="middle">{escape(text)}</text>' for x, y, text in words)
    return f'<g class="limit-words">{"".join(drawn)}</g>'


@cache
def _mark(state: str, hollow: bool, size: str) -> SafeString:
    scale = SIZES[size].mark_scale
    return render_to_string("checks/components/strip_mark.html", {"state": state, "hollow": hollow, "scale": scale})


@cache
def _frame(size: str) -> SafeString:
    return render_to_string("checks/components/strip_frame.html", {"size": SIZES[size]})


@register.inclusion_tag("checks/components/budget_table.html", name="budget_table")
def show_budget_table(table: components.BudgetTable | None, of: str = "") -> dict[str, Any]:
    """Draw an uncertainty budget; ``of`` names the stroke where a page has more than one."""
    return {"table": table, "of": of}


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
