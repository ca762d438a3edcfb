"""Drift in words: how fast, in what, and on what it rests."""

from checks.display import measured_text

# What drift is counted in.
PER = {"km": "100,000 km", "hours": "2,000 h"}
SLOW_SHARE = 0.1


def drift_text(drift_mm: float, u_mm: float, unit: str) -> str:
    """Drift with its expanded uncertainty, such as ``+0.08 ± 0.03 mm``; the reader is told per what elsewhere."""
    text = measured_text(drift_mm, 2 * u_mm if u_mm > 0 else None, unit)
    return text if text.startswith("−") else f"+{text}"


def rests_on(readings: int) -> str:
    """On how much of the unit's own a forecast rests: two readings are needed before it shows a drift of its own."""
    if readings == 0:
        return "from its model"
    return "one reading and its model" if readings == 1 else f"{readings} readings"


def going(drift_mm: float, u_mm: float, window_mm: float = 0.0) -> str:
    """Whether the travel rises or falls, as far as the uncertainty lets that be said.

    Slowly: less than a tenth of the window in 100,000 km or 2,000 h (ours, no source).
    """
    if abs(drift_mm) <= 2 * u_mm:
        return "Steady as far as can be told"
    way = "Rising" if drift_mm > 0 else "Falling"
    return f"{way} slowly" if abs(drift_mm) < SLOW_SHARE * window_mm else way
