"""Fields of the scale of each kind of instrument."""

from collections.abc import Callable
from typing import Any

from checks.pages.fields import (
    choice_field,
    quantity_field,
)
from checks.services.entry import COMMAND, LENGTH, PRESSURE
from checks.services.scales import DIGITS, ELECTRICAL, OF_SPAN, READ_TO, SENSITIVITIES

Fields = dict[str, Any]
CLASS_HINT = f"As stated by the maker; of a class such as 1.6, type 1.6 {OF_SPAN}."


def _dial() -> Fields:
    return {
        "range_high": quantity_field("Measuring range", LENGTH),
        "division": quantity_field("Scale division", LENGTH, hint="The step of the scale or of the last digit."),
        "read_to": choice_field("Read to", READ_TO),
        "permissible_error": quantity_field("Permissible error, ±", (*LENGTH, OF_SPAN), hint="Over the whole range."),
    }


def _gauge() -> Fields:
    return {
        "range_low": quantity_field("Range from", PRESSURE),
        "range_high": quantity_field("Range to", PRESSURE),
        "division": quantity_field("Scale division", PRESSURE),
        "read_to": choice_field("Read to", READ_TO),
        "permissible_error": quantity_field("Permissible error, ±", (*PRESSURE, OF_SPAN), hint=CLASS_HINT),
    }


def _transducer() -> Fields:
    return {
        "range_low": quantity_field("Range from", PRESSURE),
        "range_high": quantity_field("Range to", PRESSURE),
        "sensitivity": quantity_field(
            "Sensitivity",
            SENSITIVITIES,
            hint="Output for each unit of pressure; 4 to 20 mA over 100 psi is 0.16 mA/psi.",
        ),
        "offset": quantity_field("Output at zero pressure", tuple(ELECTRICAL)),
        "permissible_error": quantity_field("Permissible error, ±", (*PRESSURE, OF_SPAN), hint=CLASS_HINT),
    }


def _multimeter() -> Fields:
    units = tuple(ELECTRICAL)
    return {
        "electrical_unit": choice_field("Reads, on the range used here", ELECTRICAL),
        "range_low": quantity_field("Range from", units),
        "range_high": quantity_field("Range to", units),
        "division": quantity_field("Last digit", units, hint="One step of the last digit on that range."),
        "error_share": quantity_field("Permissible error, share", ("% of reading",)),
        "permissible_error": quantity_field("Permissible error, fixed part", (*units, DIGITS)),
    }


def _regulator() -> Fields:
    return {"range_high": quantity_field("Highest outlet pressure", PRESSURE, required=False)}


def _command() -> Fields:
    return {
        "range_low": quantity_field("Commands from", COMMAND),
        "range_high": quantity_field("Commands to", COMMAND),
        "division": quantity_field("Smallest step", COMMAND),
        "permissible_error": quantity_field("Permissible error, ±", (*COMMAND, OF_SPAN)),
    }


SCALES: dict[str, Callable[[], Fields]] = {
    "dial": _dial,
    "transducer": _transducer,
    "gauge": _gauge,
    "multimeter": _multimeter,
    "regulator": _regulator,
    "command": _command,
}
