"""Parts that pages are made of; each has its own template, its own test and its own text alternative.

Templates draw them with ``{% load parts %}``.
"""

from checks.components.budget_table import BudgetTable, budget_table
from checks.components.state_word import STATE_WORDS, StateWord, state_word
from checks.components.verdict import advice_sentence, half_turns_text, verdict_sentence
from checks.components.window_strip import (
    MOMENT_WORDS,
    ForecastToday,
    Reading,
    Window,
    WindowStrip,
    strip_sentence,
    window_strip,
)

__all__ = [
    "MOMENT_WORDS",
    "STATE_WORDS",
    "BudgetTable",
    "ForecastToday",
    "Reading",
    "StateWord",
    "Window",
    "WindowStrip",
    "advice_sentence",
    "budget_table",
    "half_turns_text",
    "state_word",
    "strip_sentence",
    "verdict_sentence",
    "window_strip",
]
