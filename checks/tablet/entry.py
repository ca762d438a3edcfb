"""What is typed on a screen: gathered for reading, and shown again as it was typed when it is refused."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from checks.measurement.units import accepted_units
from checks.models import Reading
from checks.services.faults import Faults
from checks.services.quantity import HOLD_SECONDS, read_plain
from checks.services.readings import Scale, read_stimulus, read_travel

LENGTH = accepted_units("mm")
Typed = dict[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One input as the page draws it. One unit is written beside the box, several are offered."""

    name: str
    label: str
    text: str = ""
    unit: str = ""
    units: tuple[str, ...] = ()
    wrong: str = ""
    hint: str = ""
    signed: bool = False
    focus: bool = False


@dataclass(frozen=True, slots=True)
class Sheet:
    """The inputs of one screen: from a post that was refused, else from what was kept."""

    post: Mapping[str, str] | None = None
    wrong: Mapping[str, str] | None = None
    query: Mapping[str, str] | None = None

    def text(self, name: str, kept: Any = "") -> str:
        """What stands in the box `name`."""
        return self.post.get(name, "") if self.post is not None else str("" if kept is None else kept)

    def asked(self, name: str) -> str:
        """What the address or the refused post says of `name`."""
        return (self.post if self.post is not None else self.query or {}).get(name, "")

    def wrong_with(self, name: str) -> str:
        """Why `name` was refused, or nothing."""
        return (self.wrong or {}).get(name, "")

    def quantity(
        self, name: str, label: str, *, units: tuple[str, ...], unit: str, kept: Typed | None = None, **more: Any
    ) -> Field:
        """A number with its unit; `unit` is offered where none was chosen yet."""
        kept = kept or {}
        # What is wrong takes the focus from what would be typed next.
        more["focus"] = bool(more.get("focus")) and not self.wrong
        return Field(
            name=name,
            label=label,
            text=self.text(name, kept.get("text")),
            unit=self.text(f"{name}_unit", kept.get("unit")) or unit,
            units=units,
            wrong=self.wrong_with(name),
            **more,
        )


def typed_in(post: Mapping[str, str], name: str) -> Typed | None:
    """What was typed into a quantity's two boxes; None where the number was left empty."""
    text = post.get(name, "").strip()
    return {"text": text, "unit": post.get(f"{name}_unit", "")} if text else None


def reading_in(post: Mapping[str, str], phase: str, scale: Scale, faults: Faults, suffix: str = "") -> dict[str, Any]:
    """One reading as typed, in the form of a submission; ``faults`` names the boxes that are wrong.

    `suffix` tells the boxes of several readings on one screen apart.
    """
    pressed, travel = typed_in(post, f"stimulus{suffix}"), typed_in(post, f"travel{suffix}")
    empty = {"text": "", "unit": scale.unit}
    read_stimulus(pressed or empty, f"stimulus{suffix}", phase, scale, faults)
    read_travel(travel, f"travel{suffix}", phase, faults)
    seconds = None
    if phase == Reading.Phase.HOLD:
        seconds = post.get(f"seconds{suffix}", "").strip()
        read_plain(seconds, f"seconds{suffix}", HOLD_SECONDS, faults)
    return {"phase": phase, "stimulus": pressed, "travel": travel, "seconds": seconds}
