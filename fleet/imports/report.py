"""The refused lines as a file: the reason of each before the line as it came."""

from collections.abc import Iterator

from fleet.imports.columns import FORMULA_STARTS
from fleet.imports.staging import Staged
from fleet.imports.trial import REFUSED

COLUMNS = ("line", "reason", "original")


def refused_rows(trial: Staged) -> Iterator[tuple[int, str, str]]:
    """Yield the cells of each refused line."""
    for verdict in trial.verdicts:
        if verdict.verdict == REFUSED:
            yield verdict.number, harmless(verdict.words), harmless(verdict.original)


def harmless(text: str) -> str:
    """Keep a spreadsheet program from running a cell as a formula (an apostrophe before it, as OWASP advises)."""
    return f"'{text}" if text.startswith(FORMULA_STARTS) else text
