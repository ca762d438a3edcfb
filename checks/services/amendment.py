"""Correcting a signed check: what was, what is, who says so and why stay; the verdict follows the correction."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db import transaction

from checks.models import Amendment, Check, Instrument, Reading
from checks.selectors.amended import INSTRUMENTS
from checks.selectors.assessment import checks_to_judge
from checks.selectors.days import day_at
from checks.services.assessment import judge_checks
from checks.services.drift import request_refit
from checks.services.faults import Faults
from checks.services.meter import correct_meters
from checks.services.parties import CALIBRATED, number_of, require_kinds
from checks.services.plan import replan
from checks.services.quantity import (
    ANGLE,
    ENGINE_HOURS,
    HOLD_SECONDS,
    ODOMETER,
    read_number,
    read_plain,
    read_text,
    read_typed,
)
from checks.services.readings import read_stimulus, read_travel, scale_of
from checks.services.safety import raise_safety_flag
from checks.services.submission import HALF_TURNS_MOST
from fleet.models import Membership, User
from fleet.problems import FleetError
from fleet.selectors.scope import holds, visible_to


@dataclass(frozen=True, slots=True)
class _Ask:
    """One correction asked for: the check as amended so far, and what was sent."""

    user: User
    check: Check
    field: str
    sent: Any
    faults: Faults

    @property
    def on(self) -> date:
        return day_at(self.check.depot, self.check.made_at)


def may_amend(user: User, check: Check) -> bool:
    """Whether ``user`` signed the check, or manages its depot."""
    if holds(user, Membership.Role.MANAGER, check.depot):
        return True
    return check.technician_id == user.pk and holds(user, Membership.Role.TECHNICIAN, check.depot)


@transaction.atomic
def amend_check(*, user: User, check: Check, field: str, new_value: Any, reason: str) -> Amendment:
    """Correct one value of a signed check, judge it anew and plan again. The signed row stays as it was signed.

    Parameters
    ----------
    field : 'odometer', 'note', 'dial' and so on, or a reading's part such as 'as_found.7.travel'
    new_value : in the form of a submission: {"text", "unit"} for a quantity, a primary key for an instrument

    Raises
    ------
    FleetErrors
        With the field of each wrong value: ``new_value``, ``reason``.
    FleetError
        ``not_allowed`` (403), ``no_such_check`` (404), ``no_such_field`` (404), ``nothing_changed`` (409).
    """
    visible = visible_to(user, Check.objects.all()).select_for_update(of=("self",)).filter(pk=check.pk)
    if not visible.exists():
        raise FleetError("no_such_check", "", "None of your depots has this check.", status=404)
    found = checks_to_judge([check.pk])[0]
    if not may_amend(user, found):
        raise FleetError(
            "not_allowed",
            "",
            "Who signed a check may amend it, or a manager of its depot. Ask one of them.",
            status=403,
        )
    reason = read_text(reason, longest=2000)
    old, new = _values(_Ask(user, found, field, new_value, Faults()), reason)
    if old == new:
        raise FleetError(
            "nothing_changed", "new_value", f"The record already says '{old}'. Enter the right value.", 409
        )
    amendment = Amendment.objects.create(
        check_made=check, field=field, old_value=old, new_value=new, reason=reason, author=user
    )
    if field in {"odometer", "engine_hours"}:
        correct_meters(user=user, check=found, field=field, kept=new, reason=reason)
    verdicts = judge_checks(check_ids=[check.pk], basis="amended")[check.pk]
    raise_safety_flag(user=user, check=check, verdicts=verdicts)
    replan([check.turbocharger_id])
    request_refit([found.turbocharger.model_id])
    return amendment


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


def _values(ask: _Ask, reason: str) -> tuple[str, str]:
    current = amendable_fields(ask.check)
    if ask.field not in current:
        raise FleetError("no_such_field", "field", f"A check has no '{ask.field[:60]}' to amend.", status=404)
    new = _reading(ask) if "." in ask.field else _FIELDS[ask.field][1](ask)
    if not reason:
        ask.faults.add("reason_missing", "reason", "Say why the record is amended; it stays with the old value.")
    ask.faults.settle()
    return current[ask.field], new


def _reading(ask: _Ask) -> str:
    moment, order, part = ask.field.split(".")
    stroke = next(stroke for stroke in ask.check.strokes.all() if stroke.moment == moment)
    row = next(row for row in stroke.readings.all() if row.order == int(order))
    if part == "seconds":
        return _plain(ask, read_plain(ask.sent, "new_value", HOLD_SECONDS, ask.faults))
    if part == "travel":
        typed = read_travel(ask.sent, "new_value", row.phase, ask.faults)
    else:
        scale = scale_of(ask.check.specification, ask.check.stimulus_instrument, ask.check.meter)
        typed = read_stimulus(ask.sent, "new_value", row.phase, scale, ask.faults)
    return typed.shown if typed else ""


def _odometer(ask: _Ask) -> str:
    typed = read_typed(ask.sent, "new_value", ODOMETER, ask.faults)
    return typed.shown if typed else ""


def _hours(ask: _Ask) -> str:
    typed = read_typed(ask.sent, "new_value", ENGINE_HOURS, ask.faults)
    return typed.shown if typed else ""


def _angle(ask: _Ask) -> str:
    if ask.sent in (None, "") and ask.field == "angle_deg":
        return ""
    return _plain(ask, read_plain(ask.sent, "new_value", ANGLE, ask.faults))


def _plain(ask: _Ask, value: float | None) -> str:
    return "" if value is None else f"{value:g}"


def _half_turns(ask: _Ask) -> str:
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


def _choice(ask: _Ask) -> str:
    choices = {"reason": Check.Reason, "geometry": Check.Geometry}[ask.field]
    if ask.sent not in choices.values:
        ask.faults.add("not_a_choice", "new_value", f"Choose one of: {', '.join(map(str, choices.labels))}.")
    return str(ask.sent)


def _note(ask: _Ask) -> str:
    return read_text(ask.sent, longest=4000)


def _instrument(ask: _Ask) -> str:
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


def _same_scale(ask: _Ask, tool: Instrument) -> None:
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
_FIELDS: dict[str, tuple[Callable[[Check, str], str], Callable[[_Ask], str]]] = {
    "reason": (_text, _choice),
    "odometer": (lambda check, _: check.odometer_typed, _odometer),
    "engine_hours": (lambda check, _: "" if check.engine_hours is None else f"{check.engine_hours:.10g} h", _hours),
    **dict.fromkeys(INSTRUMENTS, (_tool, _instrument)),
    "geometry": (_text, _choice),
    "angle_deg": (_number, _angle),
    "angle_max_deg": (_number, _angle),
    "half_turns": (_number, _half_turns),
    "note": (_text, _note),
}
