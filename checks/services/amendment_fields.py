"""What may be amended of a signed check: how each field's present value reads, and how a new one is read."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any

from checks.models import Check, Instrument, Reading
from checks.selectors.amended import INSTRUMENTS
from checks.selectors.days import day_at
from checks.services.faults import Faults
from checks.services.parts import CALIBRATED, require_kinds
from checks.services.quantity import (
    ANGLE,
    ENGINE_HOURS,
    HOLD_SECONDS,
    ODOMETER,
    number_of,
    read_number,
    read_plain,
    read_text,
    read_typed,
)
from checks.services.readings import read_stimulus, read_travel, scale_of
from checks.services.submission import HALF_TURNS_MOST
from fleet.models import User
from fleet.problems import FleetError
from fleet.selectors.scope import visible_to


@dataclass(frozen=True, slots=True)
class Ask:
    """One correction asked for: the check as amended so far, and what was sent."""

    user: User
    check: Check
    field: str
    sent: Any
    faults: Faults

    @property
    def on(self) -> date:
        return day_at(self.check.depot, self.check.made_at)


def amendable_fields(check: Check) -> dict[str, str]:
    """Every field that may be amended with the value that holds now, for a check of ``checks_to_judge``."""
    values = {field: old(check, field) for field, (old, _) in _FIELDS.items()}
    for stroke in check.strokes.all():
        for row in stroke.readings.all():
            path = f"{stroke.moment}.{row.order}"
            values[f"{path}.stimulus"] = _kept(row.stimulus_typed, row.stimulus_unit)
            values[f"{path}.travel"] = _kept(row.travel_typed, row.travel_unit)
            if row.phase == Reading.Phase.HOLD:
                values[f"{path}.seconds"] = f"{row.seconds:g}"
    return values


def values_of(ask: Ask, reason: str) -> tuple[str, str]:
    """The value that holds and the new one, both as an amendment keeps them. Raises FleetErrors with every fault."""
    current = amendable_fields(ask.check)
    if ask.field not in current:
        raise FleetError("no_such_field", "field", f"A check has no '{ask.field[:60]}' to amend.", status=404)
    new = _reading(ask) if "." in ask.field else _FIELDS[ask.field][1](ask)
    if not reason:
        ask.faults.add("reason_missing", "reason", "Say why the record is amended; it stays with the old value.")
    ask.faults.settle()
    return current[ask.field], new


def _reading(ask: Ask) -> str:
    moment, order, part = ask.field.split(".")
    stroke = next(stroke for stroke in ask.check.strokes.all() if stroke.moment == moment)
    row = next(row for row in stroke.readings.all() if row.order == int(order))
    if part == "seconds":
        return _plain(read_plain(ask.sent, "new_value", HOLD_SECONDS, ask.faults))
    if part == "travel":
        typed = read_travel(ask.sent, "new_value", row.phase, ask.faults)
    else:
        scale = scale_of(ask.check.specification, ask.check.stimulus_instrument, ask.check.meter)
        typed = read_stimulus(ask.sent, "new_value", row.phase, scale, ask.faults)
    return typed.shown if typed else ""


def _meter(ask: Ask) -> str:
    typed = read_typed(ask.sent, "new_value", ODOMETER if ask.field == "odometer" else ENGINE_HOURS, ask.faults)
    return typed.shown if typed else ""


def _angle(ask: Ask) -> str:
    if ask.sent in (None, "") and ask.field == "angle_deg":
        return ""
    return _plain(read_plain(ask.sent, "new_value", ANGLE, ask.faults))


def _plain(value: float | None) -> str:
    return "" if value is None else f"{value:g}"


def _half_turns(ask: Ask) -> str:
    number = read_number(ask.sent, "new_value", "The number of half turns", ask.faults)
    if number is None:
        return ""
    left = any(stroke.moment == "as_left" for stroke in ask.check.strokes.all())
    if number != int(number) or abs(number) > HALF_TURNS_MOST or (number and not left):
        ask.faults.add(
            "half_turns_implausible",
            "new_value",
            f"Half turns are whole, between -{HALF_TURNS_MOST} and {HALF_TURNS_MOST}, and 0 without an as-left stroke.",
        )
    return str(int(number))


def _choice(ask: Ask) -> str:
    choices = {"reason": Check.Reason, "geometry": Check.Geometry}[ask.field]
    if ask.sent not in choices.values:
        ask.faults.add("not_a_choice", "new_value", f"Choose one of: {', '.join(map(str, choices.labels))}.")
    return str(ask.sent)


def _note(ask: Ask) -> str:
    return read_text(ask.sent, longest=4000)


def _instrument(ask: Ask) -> str:
    rows = visible_to(ask.user, Instrument.objects.prefetch_related(*CALIBRATED))
    tool = rows.filter(pk=number_of(ask.sent)).first()
    if tool is None:
        if ask.sent in (None, "") and ask.field in {"meter", "regulator"}:
            return ""
        ask.faults.add("no_such_instrument", "new_value", "Choose an instrument of one of your depots.")
        return ""
    if tool.withdrawn_on and tool.withdrawn_on <= ask.on:
        ask.faults.add("instrument_withdrawn", "new_value", f"{tool} was withdrawn on {tool.withdrawn_on:%-d %b %Y}.")
    _same_scale(ask, tool)
    return f"{tool.label} #{tool.pk}"


def _same_scale(ask: Ask, tool: Instrument) -> None:
    """The readings stay as typed, so another instrument must be read in the unit that they were typed in."""
    tools = {role: getattr(ask.check, name) for role, name in INSTRUMENTS.items()}
    before = scale_of(ask.check.specification, tools["stimulus"], tools["meter"])
    tools[ask.field] = tool
    faults = Faults()
    require_kinds(tools, ask.check.specification.turbocharger_model.stimulus, faults)
    for error in faults.errors:
        ask.faults.add(error.code, "new_value", error.sentence)
    if not faults.errors and scale_of(ask.check.specification, tools["stimulus"], tools["meter"]).unit != before.unit:
        ask.faults.add(
            "scale_differs",
            "new_value",
            f"{tool} is not read in {before.unit}, as these readings were. Record the check anew with it.",
        )


def _kept(text: str, unit: str) -> str:
    return f"{text} {unit}" if text else ""


def _tool(check: Check, field: str) -> str:
    row = getattr(check, INSTRUMENTS[field])
    return f"{row.label} #{row.pk}" if row else ""


def _number(check: Check, field: str) -> str:
    value = getattr(check, field)
    return "" if value is None else f"{value:g}"


def _text(check: Check, field: str) -> str:
    return str(getattr(check, field))


# Field name to how its present value reads, and how a new one is read.
_FIELDS: dict[str, tuple[Callable[[Check, str], str], Callable[[Ask], str]]] = {
    "reason": (_text, _choice),
    "odometer": (lambda check, _: check.odometer_typed, _meter),
    "engine_hours": (lambda check, _: "" if check.engine_hours is None else f"{check.engine_hours:.10g} h", _meter),
    **dict.fromkeys(INSTRUMENTS, (_tool, _instrument)),
    "geometry": (_text, _choice),
    "angle_deg": (_number, _angle),
    "angle_max_deg": (_number, _angle),
    "half_turns": (_number, _half_turns),
    "note": (_text, _note),
}
