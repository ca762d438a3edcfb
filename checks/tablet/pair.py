"""The pair of boxes that every reading is typed into: stimulus and travel."""

from collections.abc import Mapping
from typing import Any

from checks.display import stimulus_text
from checks.tablet.desk import Desk
from checks.tablet.entry import LENGTH, Field, Sheet


def stimulus_label(desk: Desk) -> str:
    """What is read: command, pressure, or the meter of a transducer."""
    if desk.electric:
        return "Command"
    return f"Meter {desk.kit.meter}" if desk.kit.meter else "Pressure"


def pair_fields(
    desk: Desk, sheet: Sheet, kept: Mapping[str, Any] | None, *, signed: bool = False, focus: bool = True
) -> list[Field]:
    """Boxes for one reading, with what was kept or typed before."""
    pressed = stimulus_field(desk, sheet, kept, signed=signed, focus=focus)
    return [pressed, travel_field(desk, sheet, kept, signed=signed)]


def stimulus_field(
    desk: Desk, sheet: Sheet, kept: Mapping[str, Any] | None = None, *, suffix: str = "", label: str = "", **more: Any
) -> Field:
    """The box for pressure, command or meter reading."""
    return sheet.quantity(
        f"stimulus{suffix}",
        label or stimulus_label(desk),
        units=desk.kit.stimulus_units,
        unit=last_unit(desk, "stimulus") or desk.kit.stimulus_unit,
        kept=(kept or {}).get("stimulus"),
        **more,
    )


def travel_field(desk: Desk, sheet: Sheet, kept: Mapping[str, Any] | None = None, **more: Any) -> Field:
    """The box for the dial."""
    return sheet.quantity(
        "travel",
        "Travel",
        units=LENGTH,
        unit=last_unit(desk, "travel") or desk.kit.travel_unit,
        kept=(kept or {}).get("travel"),
        **more,
    )


def last_unit(desk: Desk, name: str) -> str:
    """The unit last typed for `name` in this check; whoever chose psi once means psi."""
    offered = desk.kit.stimulus_units if name == "stimulus" else LENGTH
    for moment in ("as_left", "as_found"):
        stroke = desk.answers.get(moment) or {}
        for reading in reversed(stroke.get("readings", [])):
            typed = reading.get(name) or {}
            if typed.get("unit") in offered:
                return str(typed["unit"])
    return ""


def on_the_meter(desk: Desk, value: float) -> str:
    """A stimulus in the person's unit and, through a transducer, what its meter then shows."""
    text = stimulus_text(value, desk.stimulus_unit)
    kit = desk.kit
    if kit.meter is None:
        return text
    shown = kit.scale.offset + kit.scale.sensitivity * value
    return f"{text} ({shown:.4g} {kit.scale.unit} on {kit.meter})"
