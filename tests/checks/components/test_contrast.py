"""Colours of states can be read in both themes."""

import re
from pathlib import Path

import pytest
from django.conf import settings

from checks.components import STATE_WORDS

TOKENS = Path(settings.BASE_DIR) / "fleet/static/fleet/css/tokens.css"
NAMES = {"never_checked": "never"} | {s: s.replace("_", "-") for s in STATE_WORDS if s != "never_checked"}


def theme(selector):
    """Colours of one theme; a dark theme takes over from the light one."""
    text = TOKENS.read_text()
    blocks = [text.split(":root {", 1)[1].split("}", 1)[0]]
    if selector == "dark":
        blocks.append(text.split(':root[data-theme="dark"] {', 1)[1].split("}", 1)[0])
    return dict(pair for block in blocks for pair in re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", block))


def luminance(colour):
    """Relative luminance. Source: WCAG 2.2, definition of relative luminance."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other):
    """Contrast ratio. Source: WCAG 2.2, definition of contrast ratio."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_contrast_of_black_on_white_is_21():
    """Source: WCAG 2.2, contrast ratios range from 1 to 21."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)


@pytest.mark.parametrize("name", ["light", "dark"])
@pytest.mark.parametrize("state", STATE_WORDS)
def test_state_words_reach_4_5_to_1_on_paper_and_marks_3_to_1_on_the_band(name, state):
    """Source: WCAG 2.2, success criteria 1.4.3 (text) and 1.4.11 (graphics)."""
    colours = theme(name)
    own = colours[NAMES[state]]
    assert contrast(own, colours["paper"]) >= 4.5
    assert contrast(own, colours["paper-raised"]) >= 4.5
    assert contrast(own, colours["band"]) >= 3


@pytest.mark.parametrize("name", ["light", "dark"])
def test_limits_and_nominal_stand_out_from_the_band(name):
    """Source: WCAG 2.2, success criterion 1.4.11."""
    colours = theme(name)
    assert contrast(colours["ink-soft"], colours["band"]) >= 3
