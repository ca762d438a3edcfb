"""Forms of instruments: each kind asks for its own fields and no others."""

from collections.abc import Callable
from typing import Any

from checks.models import Instrument
from checks.pages.fields import (
    EntryForm,
    as_typed,
    choice_field,
    day_field,
    own_unit,
    quantity_field,
    text_field,
)
from checks.services.scales import (
    COMMAND,
    DIGITS,
    ELECTRICAL,
    LENGTH,
    OF_SPAN,
    PRESSURE,
    READ_TO,
    SENSITIVITIES,
)
from fleet.models import Membership, User
from fleet.selectors import scope

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


class InstrumentForm(EntryForm):
    """One kind of instrument."""

    def __init__(self, data: Any = None, *, kind: str, user: User, **options: Any) -> None:
        super().__init__(data, **options)
        depots = scope.depots_of(user, role=Membership.Role.MANAGER).order_by("name")
        scale = SCALES[kind]()
        self.fields |= {
            "label": text_field("Label", hint="The one that is on the instrument, unique in the fleet."),
            "depot": choice_field("Depot", [(depot.pk, depot.name) for depot in depots]),
            "description": text_field("Description", required=False, hint="What it is, in your words."),
            **scale,
        }
        self.groups = (("Identity", ("label", "depot", "description")), ("Scale", tuple(scale)))


def first_values(kind: str, user: User) -> Fields:
    """What an empty form begins with: the person's own units."""
    begun = {}
    for name, field in SCALES[kind]().items():
        units = [unit for unit, _ in field.widget.widgets[1].choices] if hasattr(field.widget, "widgets") else []
        if units:
            own = own_unit(user, units[0])
            begun[name] = own if own in units else units[0]
    if kind == "transducer":
        begun["sensitivity"] = f"mV/{own_unit(user, 'kPa')}"
    return begun | {"read_to": "0.5"}


def values_of(row: Instrument) -> Fields:
    """An instrument as it was typed."""
    kept = {"dial": "mm", "command": "%", "multimeter": row.electrical_unit}.get(row.kind, "kPa")
    names = tuple(SCALES[row.kind]())
    stored: Fields = {
        name: {"text": f"{getattr(row, name)!r}", "unit": kept}
        for name in names
        if isinstance(getattr(row, name), float) and name != "read_to"
    }
    if row.kind == Instrument.Kind.TRANSDUCER:
        stored["sensitivity"]["unit"] = f"{row.electrical_unit}/kPa"
        stored["offset"]["unit"] = row.electrical_unit
    if row.kind == Instrument.Kind.MULTIMETER:
        stored["error_share"] = {"text": f"{row.error_share * 100:.10g}", "unit": "% of reading"}
    return {
        **stored,
        **as_typed(row.typed, names),
        "label": row.label,
        "depot": row.depot_id,
        "description": row.description,
        "read_to": f"{row.read_to:g}",
        "electrical_unit": row.electrical_unit,
    }


class WithdrawForm(EntryForm):
    """The day and the reason."""

    groups = (("", ("withdrawn_on", "reason")),)

    def __init__(self, data: Any = None, **options: Any) -> None:
        super().__init__(data, **options)
        self.fields |= {
            "withdrawn_on": day_field("Out of use from"),
            "reason": text_field("Reason", hint="Kept in the record of changes."),
        }


class ReasonForm(EntryForm):
    """A reason alone."""

    groups = (("", ("reason",)),)

    def __init__(self, data: Any = None, **options: Any) -> None:
        super().__init__(data, **options)
        self.fields["reason"] = text_field("Reason", hint="Kept in the record of changes.")
