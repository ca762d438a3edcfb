"""A square code that a camera reads (QR code, ISO/IEC 18004), drawn in the page."""

from dataclasses import dataclass

import segno

# The standard asks for a margin of four modules that stays empty.
QUIET = 4


@dataclass(frozen=True, slots=True)
class CodeMark:
    """``path`` in modules, within a square of ``side`` modules that includes the quiet margin."""

    text: str
    side: int
    path: str


def code_mark(text: str) -> CodeMark:
    """The code of `text`. A quarter of it may be lost to grease and scratches (level Q), more where room is left."""
    rows = list(segno.make(text, micro=False, error="q", boost_error=True).matrix_iter(border=QUIET))
    runs = [f"M{x} {y}h{length}v1h-{length}z" for y, row in enumerate(rows) for x, length in _runs(list(row))]
    return CodeMark(text=text, side=len(rows), path="".join(runs))


def _runs(row: list[int]) -> list[tuple[int, int]]:
    """Starts and lengths of the dark runs of one row."""
    runs: list[tuple[int, int]] = []
    for x, dark in enumerate(row):
        if not dark:
            continue
        if runs and sum(runs[-1]) == x:
            runs[-1] = (runs[-1][0], runs[-1][1] + 1)
        else:
            runs.append((x, 1))
    return runs
