"""Forms of instruments: each kind asks for its own fields and no others."""

from typing import Any

from checks.models import Instrument
from checks.pages.fields import (
    EntryForm,
    as_typed,
    choice_field,
    day_field,
    own_unit,
    reason_field,
    text_field,
)
from checks.pages.instrument_scales import SCALES, Fields
from fleet.models import Membership, User
from fleet.selectors import scope


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
    withdrawn_on = day_field("Out of use from")
    reason = reason_field()


class ReasonForm(EntryForm):
    """A reason alone."""

    groups = (("", ("reason",)),)
    reason = reason_field()
