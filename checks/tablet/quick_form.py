"""What the page for typing in a sheet shows: every box with what stands in it and what is wrong with it."""

from collections.abc import Mapping
from typing import Any

from django.utils import timezone

from checks.display import stimulus_text
from checks.measurement.units import accepted_units
from checks.models import Check, Draft, Instrument, SpecificationRevision
from checks.models.instrument_parts import PARTS
from checks.selectors.days import day_at
from checks.selectors.place import open_complaints
from checks.services.quantity import ODOMETER
from checks.services.readings import scale_of
from checks.tablet.desk import Desk
from checks.tablet.fitness import Bench
from checks.tablet.quick_boxes import Boxes
from checks.tablet.quick_lines import lines_for
from fleet.models import Turbocharger, User

TITLES = {"dial": "Dial", "stimulus": "Pressure", "meter": "Meter", "regulator": "Regulator"}
PRESSURES, ELECTRICAL = accepted_units("kPa"), tuple(Instrument.Electrical.values)


class QuickForm:
    """The boxes of one sheet; ``typed`` is what stands in them, ``wrong`` why they were refused."""

    def __init__(
        self,
        user: User,
        turbocharger: Turbocharger,
        revision: SpecificationRevision,
        typed: Mapping[str, str] | None = None,
        wrong: Mapping[str, str] | None = None,
    ) -> None:
        answers = {"specification": revision.pk}
        self.desk = Desk(Draft(turbocharger=turbocharger, author=user, answers=answers), user)
        self.revision = revision
        self.electric = self.desk.electric
        self.lines = lines_for(self.desk.cycles, electric=self.electric)
        self.bench = Bench(self.desk)
        self.typed = typed if typed is not None else self._begin()
        self.boxes = Boxes(self.typed, wrong or {}, electric=self.electric)
        self.box = self.boxes.box

    def _begin(self) -> dict[str, str]:
        """A new sheet: today, and the instruments that the printed sheet names first."""
        best = self.bench.best()
        stimulus, meter = best["stimulus"], best["meter"]
        today = day_at(self.desk.turbocharger.depot, timezone.now())
        unit = scale_of(self.revision, stimulus, meter).unit if stimulus else "kPa"
        return {
            "day": today.isoformat(),
            "specification": str(self.revision.pk),
            "odometer_unit": self.desk.user.distance_unit,
            "geometry": Check.Geometry.FLAT_FACE.value,
            "angle_max": "5",
            "p_unit": self.desk.user.pressure_unit if unit == "kPa" else unit,
            "x_unit": self.desk.user.length_unit,
            **{role: str(row.pk) if row else "" for role, row in best.items()},
        }

    def choices(self) -> list[dict[str, Any]]:
        """The lists of instruments, each with the unit in which it is read."""
        roles = ("dial", "stimulus") if self.electric else PARTS
        return [
            {
                "box": self.box(role, "Command tool" if self.electric and role == "stimulus" else TITLES[role]),
                "optional": role in {"meter", "regulator"},
                "rows": [(str(row.pk), self._named(row), self._read_in(row)) for row in self.bench.choices(role)],
            }
            for role in roles
        ]

    def _named(self, row: Instrument) -> str:
        elsewhere = row.depot_id != self.desk.turbocharger.depot_id
        return f"{row.label} · {row.depot.name}" if elsewhere else row.label

    def _read_in(self, row: Instrument) -> str:
        if row.kind == Instrument.Kind.TRANSDUCER:
            return row.electrical_unit
        own = (row.typed or {}).get("division") or ["", ""]
        return own[1] if own[1] in PRESSURES else self.desk.user.pressure_unit

    def context(self) -> dict[str, Any]:
        """Everything that the template draws."""
        truck = self.desk.place.truck
        setting = stimulus_text(self.revision.setting, self.desk.stimulus_unit)
        pressures = ("%",) if self.electric else (*PRESSURES, *ELECTRICAL)
        revisions = SpecificationRevision.objects.filter(turbocharger_model=self.desk.turbocharger.model_id)
        return {
            "form": self,
            "turbocharger": self.desk.turbocharger,
            "place": self.desk.place,
            "maximum": self.desk.maximum,
            "when": [self.box("day", "Day"), self.box("begun", "Begun at"), self.box("cautions", "Cautions read at")],
            "specification": self.box("specification", "Specification"),
            "revisions": [(str(row.pk), f"revision {row.revision}") for row in revisions.order_by("-effective_from")],
            "reason": self.box("reason", "Reason"),
            "reasons": Check.Reason.choices,
            "complaint": self.box("complaint", "Complaint answered"),
            "complaints": open_complaints(truck),
            "odometer": self.box("odometer", "Odometer"),
            "odometer_units": accepted_units(ODOMETER.unit),
            "engine_hours": self.box("engine_hours", "Engine hours"),
            "instruments": self.choices(),
            "geometry": self.box("geometry", "Plunger"),
            "geometries": [(value, word.removeprefix("plunger ")) for value, word in Check.Geometry.choices],
            "angle_max": self.box("angle_max", "Within ± °"),
            "p_unit": self.box("p_unit", "Pressure in"),
            "p_units": pressures,
            "x_unit": self.box("x_unit", "Travel in"),
            "x_units": accepted_units("mm"),
            "found": self.boxes.rows("as_found", self.lines, setting=setting),
            "left": self.boxes.rows("as_left", self.lines, setting=setting),
            "turns": self.box("turns", "Half turns"),
            "turns_way": self.typed.get("turns_way", ""),
            "note": self.box("note", "Note"),
        }
