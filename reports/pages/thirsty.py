"""Thirsty trucks on the page of fuel, in words."""

from typing import Any

from checks.display import length_text
from reports.selectors.thirst import ThirstyTrucks, TruckFuel
from reports.sentences.thirst import thirsty_sentence
from reports.words.fuel import share_text

GROUPS = (
    ("outside", "Thirsty and outside", "Their wastegates stand outside the window: set them right first."),
    ("inside", "Thirsty and inside", "Their wastegates stand inside the window: look for another cause."),
    ("unknown", "Thirsty, wastegate not known", "No reading was made in this fitting: check them."),
)


def thirsty_context(found: ThirstyTrucks, unit: str) -> dict[str, Any]:
    """What the template needs: groups that have trucks, the sentence, and how many are not listed."""
    groups = [(title, advice, getattr(found, name)) for name, title, advice in GROUPS]
    return {
        "thirsty": [
            {"title": title, "advice": advice, "lines": [_line(truck, unit) for truck in trucks]}
            for title, advice, trucks in groups
            if trucks
        ],
        "thirsty_words": thirsty_sentence(found),
        "thirsty_more": found.more,
    }


def _line(truck: TruckFuel, unit: str) -> dict[str, Any]:
    more = truck.more
    return {
        "name": truck.unit_number,
        "turbocharger": truck.turbocharger,
        "depot": truck.depot,
        "more": share_text(more.value, more.low, more.high) if more else "",
        "since": truck.since,
        "state": truck.state,
        "beyond": length_text(truck.beyond_mm, unit) if truck.state.startswith("outside") else "",
    }
