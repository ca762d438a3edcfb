"""A frozen run as a ZIP of CSV files: RFC 4180 with CRLF, UTF-8, ISO days, and a dictionary of every column."""

import csv
import io
import zipfile
from collections.abc import Sequence

from fleet.imports.report import harmless
from reports.export.frozen import Run, Table

DICTIONARY = ("table", "column", "meaning", "unit", "decimals")
# The same bytes on every day: a ZIP otherwise keeps the time of writing.
EPOCH = (1980, 1, 1, 0, 0, 0)


def csv_files(run: Run) -> dict[str, bytes]:
    """File name to bytes: the summary, each table, and the dictionary."""
    files = {"summary.csv": _csv(("sentence",), [(harmless(text),) for text in run.sentences])}
    files |= {f"{table.name}.csv": table_csv(table) for table in run.tables}
    about = [("summary", "sentence", "One sentence of the summary.", "", "")]
    about += [
        (table.name, column.key, column.meaning, column.unit, str(column.places) if column.kind == "number" else "")
        for table in run.tables
        for column in table.columns
    ]
    return files | {"dictionary.csv": _csv(DICTIONARY, about)}


def table_csv(table: Table) -> bytes:
    """One table. Texts that a spreadsheet program would run get an apostrophe; numbers stay as they are."""
    numbers = [column.kind == "number" for column in table.columns]
    rows = [
        tuple(cell if number else harmless(cell) for cell, number in zip(row, numbers, strict=True))
        for row in table.rows
    ]
    return _csv(tuple(column.key for column in table.columns), rows)


def zip_of(run: Run) -> bytes:
    """All files in one ZIP, in the order of the tables."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in csv_files(run).items():
            entry = zipfile.ZipInfo(name, EPOCH)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, content)
    return out.getvalue()


def _csv(header: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> bytes:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(header)
    writer.writerows(rows)
    return out.getvalue().encode()
