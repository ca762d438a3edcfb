"""What the chunks of a file told: how many lines each reason refused, with the first of them, and the span written."""

import json
import uuid
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from fleet.imports.kept import write_over
from fleet.imports.trips.chunk import Chunk, Outcome
from fleet.imports.trips.staging import chunk_folder

EXAMPLES = 3
LONGEST_EXAMPLE = 200


@dataclass(frozen=True, slots=True)
class Reason:
    """Why lines were refused: how many, and number and text of the first of them."""

    sentence: str
    lines: int
    examples: tuple[tuple[int, str], ...]


@dataclass(frozen=True, slots=True)
class Told:
    """What a file's chunks told so far; ``span`` holds first and last start written, in seconds since 1970, or None."""

    reasons: tuple[Reason, ...] = ()
    span: tuple[int, int] | None = None

    def kept(self) -> dict[str, Any]:
        """As a job's result keeps it."""
        return {"reasons": [[one.sentence, one.lines, list(one.examples)] for one in self.reasons], "span": self.span}


def keep_told(key: uuid.UUID, begin: int, chunk: Chunk, outcome: Outcome, *, trial: bool) -> None:
    """Keep what one chunk told under its place: done again, it is written over by the same."""
    starts = np.concatenate([outcome.new["started_s"], outcome.changed["started_s"]])
    span = [int(starts.min()), int(starts.max())] if len(starts) else None
    path = chunk_folder(key, trial=trial) / f"{begin:015d}.json"
    write_over(path, json.dumps({"reasons": list(_reasons_in(chunk)), "span": span}))


def told_by(key: uuid.UUID, *, trial: bool, until: int) -> Told:
    """What the chunks of a file told that begin before byte `until`, the commonest reason first."""
    parts = (path for path in sorted(chunk_folder(key, trial=trial).glob("*.json")) if int(path.stem) < until)
    return _added_up([json.loads(path.read_text()) for path in parts])


def told_again(kept: dict[str, Any]) -> Told:
    """What a job's result kept of it."""
    return _added_up([kept])


def _reasons_in(chunk: Chunk) -> Iterator[tuple[str, int, list[tuple[int, str]]]]:
    reason = chunk.refusals.reason
    for code in np.unique(reason[reason > 0]).tolist():
        places = np.flatnonzero(reason == code)
        first = places[:EXAMPLES].tolist()
        shown = [(int(chunk.lines.numbers[at]), chunk.lines.original(at)[:LONGEST_EXAMPLE]) for at in first]
        yield chunk.refusals.sentences[code], len(places), shown


def _added_up(parts: Sequence[dict[str, Any]]) -> Told:
    counts: dict[str, int] = {}
    examples: dict[str, list[tuple[int, str]]] = {}
    for part in parts:
        for sentence, lines, shown in part.get("reasons", []):
            counts[sentence] = counts.get(sentence, 0) + lines
            examples.setdefault(sentence, []).extend((number, text) for number, text in shown)
    spans = [part["span"] for part in parts if part.get("span")]
    span = (min(low for low, _ in spans), max(high for _, high in spans)) if spans else None
    ranked = sorted(counts, key=lambda sentence: -counts[sentence])
    return Told(tuple(Reason(name, counts[name], tuple(examples[name][:EXAMPLES])) for name in ranked), span)
