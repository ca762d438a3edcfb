"""The refused lines as a file: the reason of each before the line as it came."""

import csv
import io

from fleet.imports.columns import FORMULA_STARTS
from fleet.imports.formats.format import Format
from fleet.imports.staging import Staged
from fleet.imports.trial import refused_lines


def refused_csv(trial: Staged) -> str:
    """CSV with the columns line, reason, original."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(["line", "reason", "original"])
    for verdict in refused_lines(trial.verdicts):
        writer.writerow([verdict.number, harmless(verdict.words), harmless(verdict.original)])
    return out.getvalue()


def empty_file(kind: Format) -> str:
    """A file of this kind with its heading and nothing below, to be filled in."""
    out = io.StringIO()
    csv.writer(out).writerow([column.name for column in kind.columns])
    return out.getvalue()


def harmless(text: str) -> str:
    """Keep a spreadsheet program from running a cell as a formula (an apostrophe before it, as OWASP advises)."""
    return f"'{text}" if text.startswith(FORMULA_STARTS) else text
