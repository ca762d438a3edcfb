"""The boxes of the page for typing in a sheet: what stands in each, what is wrong with it, and those of a stroke."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from checks.tablet.quick_lines import MOMENTS, Line


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """One input. ``label`` is what a screen reader says of it."""

    name: str
    label: str
    text: str = ""
    wrong: str = ""
    first: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a stroke with its boxes."""

    title: str
    hint: str
    stimulus: Box
    travel: Box | None
    seconds: Box | None

    @property
    def wrongs(self) -> list[tuple[str, str]]:
        """Names of its boxes that are wrong, with why."""
        boxes = [box for box in (self.stimulus, self.travel, self.seconds) if box]
        return [(box.name, box.wrong) for box in boxes if box.wrong]


class Boxes:
    """What was ``typed`` into boxes by their names, and why some are ``wrong``; the first of those has the cursor."""

    def __init__(self, typed: Mapping[str, str], wrong: Mapping[str, str], *, electric: bool) -> None:
        self.typed, self.wrong = typed, wrong
        self.first = next(iter(wrong), "day")
        self.stimulus = "command" if electric else "pressure"

    def box(self, name: str, label: str) -> Box:
        """A box with what stands in it."""
        return Box(
            name=name,
            label=label,
            text=self.typed.get(name, ""),
            wrong=self.wrong.get(name, ""),
            first=name == self.first,
        )

    def rows(self, moment: str, lines: Sequence[Line], *, setting: str) -> list[Row]:
        """The lines of one stroke; the line at the setting hints at what the ``setting`` is."""
        word = moment.replace("_", " ").capitalize()
        return [self._row(MOMENTS[moment], word, line, setting if line.phase == "setting" else "") for line in lines]

    def _row(self, prefix: str, word: str, line: Line, hint: str) -> Row:
        name, said = f"{prefix}-{line.slug}", f"{word}, {line.title.lower()}"
        return Row(
            title=line.title,
            hint=hint,
            stimulus=self.box(f"{name}-p", f"{said}: {self.stimulus}"),
            travel=self.box(f"{name}-x", f"{said}: travel") if line.travel else None,
            seconds=self.box(f"{name}-s", f"{said}: seconds") if line.seconds else None,
        )
