"""The trial run: each line of a file with what it would do, or why it is refused."""

import hashlib
import json
from collections import Counter
from dataclasses import dataclass

from fleet.imports.columns import Cells, Layout, lay_out, read_cells, unused_notice
from fleet.imports.formats.format import Format
from fleet.imports.known import Known, load_known
from fleet.imports.source import Line, Source, take_apart
from fleet.imports.steps import Step, Wish
from fleet.models import User
from fleet.problems import FleetError

NEW, CHANGE, SAME, REFUSED = "new", "change", "same", "refused"


@dataclass(frozen=True, slots=True)
class Verdict:
    """What becomes of one line. `code` and `field` only where it is refused."""

    number: int
    original: str
    verdict: str
    words: str
    code: str = ""
    field: str = ""


@dataclass(frozen=True, slots=True)
class Trial:
    """A trial run: verdicts in the order of the lines, and the steps that the accepted ones ask for."""

    heading: tuple[str, ...]
    verdicts: tuple[Verdict, ...]
    steps: tuple[Step, ...]
    notices: tuple[str, ...]

    @property
    def tally(self) -> dict[str, int]:
        """Lines by verdict; they add up to all lines."""
        counted = Counter(verdict.verdict for verdict in self.verdicts)
        return {name: counted[name] for name in (NEW, CHANGE, SAME, REFUSED)}

    @property
    def digest(self) -> str:
        """Tells whether a later trial run of the same file would do the same."""
        said = [(verdict.number, verdict.verdict, verdict.words) for verdict in self.verdicts]
        return hashlib.sha256(json.dumps(said).encode()).hexdigest()


def run_trial(*, user: User, kind: Format, content: bytes) -> Trial:
    """Hold every line of a file against the register; writes nothing. Raises FleetError when no line can be read."""
    source = take_apart(content)
    layout = lay_out(source.heading, kind.columns)
    known = _load(user, source, layout)
    verdicts: list[Verdict] = []
    steps: list[Step] = []
    for line in source.lines:
        verdict, taken = _judge(line, layout, kind, known, user)
        verdicts.append(verdict)
        steps.extend(taken)
    return Trial(source.heading, tuple(verdicts), tuple(steps), source.notices + unused_notice(layout))


def _judge(line: Line, layout: Layout, kind: Format, known: Known, user: User) -> tuple[Verdict, list[Step]]:
    wish = Wish([])
    try:
        kind.plan(read_cells(line, layout), known, wish, user)
    except FleetError as error:
        return Verdict(line.number, line.original, REFUSED, error.sentence, error.code, error.field), []
    for step in wish.steps:
        _take_in(step, known)
    words = "; ".join(step.words for step in wish.steps) or "already on record"
    new = any(step.changes is None for step in wish.steps)
    return Verdict(line.number, line.original, NEW if new else CHANGE if wish.steps else SAME, words), wish.steps


def _take_in(step: Step, known: Known) -> None:
    if step.changes is None:
        known.add(step.row)
        return
    for name, value in step.changes.items():
        setattr(step.row, name, value)
    known.note_vin(step.row)


def _load(user: User, source: Source, layout: Layout) -> Known:
    named: dict[str, set[str]] = {name: set() for name in ("unit_number", "vin", "engine_serial", "serial")}
    for line in source.lines:
        try:
            cells = read_cells(line, layout)
        except FleetError:
            continue
        _collect(named, cells)
    return load_known(
        user,
        trucks=named["unit_number"],
        vins=named["vin"],
        engines=named["engine_serial"],
        serials=named["serial"],
        with_meters="read_at" in layout.places,
        with_complaints="raised_on" in layout.places,
    )


def _collect(named: dict[str, set[str]], cells: Cells) -> None:
    for name, values in named.items():
        value = cells.values.get(name, "").strip()
        values.add("".join(value.split()).upper() if name == "vin" else value)
