"""Numbers as people type them."""

from checks.measurement.units import NotANumber, parse_decimal
from fleet.problems import FleetError


def read_number(text: str, *, field: str) -> float:
    """Read a finite number with decimal point or comma. Raises FleetError on `field`."""
    try:
        return parse_decimal(text)
    except NotANumber as error:
        raise FleetError(error.code, field, error.sentence) from error
