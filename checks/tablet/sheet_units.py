"""The units that a tablet offers, with the factors that lead to those in which quantities are kept."""

from typing import Any

from checks.measurement.units import QUANTITIES, convert

ON_A_METER = ("voltage", "current")
SHOWN_UNITS = ("pressure", "length", "command", "distance", "operating time")


def units_on_sheet() -> dict[str, dict[str, Any]]:
    """Unit to the unit in which its quantity is kept and the factor that leads there.

    What a multimeter shows is kept as it shows it.
    """
    shown: dict[str, dict[str, Any]] = {
        unit: {"kept": unit, "factor": 1.0} for name in ON_A_METER for unit in QUANTITIES[name]
    }
    return shown | {
        unit: {"kept": units[0], "factor": convert(1.0, unit, units[0])}
        for name in SHOWN_UNITS
        for units in [QUANTITIES[name]]
        for unit in units
    }
