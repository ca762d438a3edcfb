"""The form of a calibration certificate with its table of points; rows can be added without a script."""

from dataclasses import dataclass, field
from typing import Any

from checks.models import Instrument
from checks.pages.fields import EntryForm, choice_field, day_field, own_unit, text_field
from checks.services.certificate import GIVEN, POINTS_MOST
from checks.services.scales import point_units
from fleet.models import User
from fleet.problems import FleetError

ROWS_FIRST, ROWS_MORE = 6, 6
COLUMNS = ("moment", "indication", "value", "expanded_uncertainty", "coverage_factor")


@dataclass(frozen=True, slots=True)
class Cell:
    """One input of the table."""

    name: str
    column: str
    label: str
    value: str
    faults: list[str] = field(default_factory=list)


class CertificateForm(EntryForm):
    """Number, laboratory, days, and the points."""

    groups = (
        ("Certificate", ("number", "laboratory", "issued_on", "due_on", "note")),
        ("Points", ("unit", "given")),
    )

    def __init__(self, data: Any = None, *, instrument: Instrument, user: User, **options: Any) -> None:
        super().__init__(data, **options)
        units = point_units(instrument.kind, instrument.electrical_unit)
        self.fields |= {
            "number": text_field("Number"),
            "laboratory": text_field("Laboratory", required=False),
            "issued_on": day_field("Issued on"),
            "due_on": day_field("Due on", hint="The last day on which the instrument may be used."),
            "note": text_field("Note", required=False, long=True),
            "unit": choice_field("Unit of the points", [(unit, unit) for unit in units]),
            "given": choice_field("Each point names its", GIVEN),
        }
        # A certificate is mostly in the unit of the scale.
        scale = instrument.typed.get("range_high", ["", ""])[1]
        begun = next((unit for unit in (scale, own_unit(user, units[0])) if unit in units), units[0])
        self.initial = {**self.initial, "unit": begun, "given": "error"}
        self.point_faults: dict[str, list[str]] = {}
        self.row_count = self._row_count()

    def _row_count(self) -> int:
        if not self.is_bound:
            return ROWS_FIRST
        count = str(self.data.get("rows", ""))
        count_now = int(count) if count.isdecimal() and len(count) < 4 else ROWS_FIRST
        return min(count_now + (ROWS_MORE if "more" in self.data else 0), POINTS_MOST)

    @property
    def entry(self) -> dict[str, Any]:
        """The certificate with its points, empty rows included so that faults name the right one."""
        third = "reference" if self.data.get("given") == "reference" else "error"
        points = []
        for i in range(self.row_count):
            texts = {column: self.data.get(f"points-{i}-{column}", "") for column in COLUMNS}
            points.append({third if column == "value" else column: text for column, text in texts.items()})
        return super().entry | {"points": points, "not_adjusted": bool(self.data.get("not_adjusted"))}

    @property
    def not_adjusted(self) -> bool:
        """Whether the box was ticked."""
        return bool(self.data.get("not_adjusted"))

    def show_one(self, fault: FleetError) -> None:
        """Put a sentence about a point into its cell."""
        parts = fault.field.split(".")
        if parts[0] == "points" and len(parts) == 3:
            column = "value" if parts[2] in {"error", "reference"} else parts[2]
            self.point_faults.setdefault(f"points-{parts[1]}-{column}", []).append(fault.sentence)
            return
        super().show_one(fault)

    def rows(self) -> list[list[Cell]]:
        """The table as it stands."""
        return [[self._cell(i, column) for column in COLUMNS] for i in range(self.row_count)]

    def _cell(self, i: int, column: str) -> Cell:
        name = f"points-{i}-{column}"
        first = {"moment": "as_found", "coverage_factor": "2"}.get(column, "")
        words = {"value": "error or reference", "moment": "as found or as left"}.get(column, column.replace("_", " "))
        faults = self.point_faults.get(name, [])
        return Cell(name, column, f"Point {i + 1}, {words}", self.data.get(name, first), faults)
