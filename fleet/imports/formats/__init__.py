"""The kinds of file that can be brought in. A new kind is one new module and one entry here."""

from fleet.imports.formats import complaints, engines, fitments, meters, register, trucks, turbochargers
from fleet.imports.formats.format import Format
from fleet.problems import FleetError

FORMATS: tuple[Format, ...] = (
    register.FORMAT,
    trucks.FORMAT,
    engines.FORMAT,
    turbochargers.FORMAT,
    fitments.FORMAT,
    meters.FORMAT,
    complaints.FORMAT,
)


def format_named(name: str) -> Format:
    """The format of this name. Raises FleetError on field ``kind``."""
    for known in FORMATS:
        if known.name == name:
            return known
    raise FleetError("unknown_format", "kind", f"'{name[:40]}' is no kind of file that can be brought in.")
