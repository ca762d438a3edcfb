"""The first sheet of a workbook as CSV text, so that it takes the way of every other file."""

import csv
import io
import zipfile
from datetime import datetime, time
from typing import Any
from xml.etree.ElementTree import ParseError

from fleet.problems import FleetError

# A workbook is a zip: a small file may swell to any size.
MOST_UNPACKED = 100 * 1024 * 1024
MOST_COLUMNS = 200


def is_workbook(content: bytes) -> bool:
    """Whether these are the bytes of a zip, as workbooks in XLSX are."""
    return content.startswith(b"PK\x03\x04")


def sheet_as_csv(content: bytes, *, most_lines: int) -> str:
    """The first sheet with commas between cells; days as 2026-03-14. Raises FleetError on field ``file``."""
    # Only those who send a workbook need its 30 MB.
    from openpyxl import load_workbook
    from openpyxl.utils.exceptions import InvalidFileException

    try:
        with zipfile.ZipFile(io.BytesIO(content)) as parts:
            if sum(part.file_size for part in parts.infolist()) > MOST_UNPACKED:
                raise FleetError("file_too_large", "file", "The workbook unpacks to too much. Send the sheet as CSV.")
        book = load_workbook(io.BytesIO(content), read_only=True, data_only=True)
        rows = book.worksheets[0].iter_rows(values_only=True, max_col=MOST_COLUMNS)
        return _written(rows, most_lines)
    except (InvalidFileException, KeyError, IndexError, ValueError, OSError, zipfile.BadZipFile, ParseError) as error:
        raise FleetError(
            "workbook_unreadable", "file", "This workbook cannot be read. Save the sheet as CSV and send that."
        ) from error


def _written(rows: Any, most_lines: int) -> str:
    out, width, taken = io.StringIO(), 0, 0
    writer = csv.writer(out, lineterminator="\n")
    for row in rows:
        cells = [_cell(value) for value in row]
        if not any(cells):
            continue
        taken += 1
        if taken > most_lines + 1:
            raise FleetError("too_many_lines", "file", f"The sheet has too many lines; send at most {most_lines:,}.")
        width = width or max(place + 1 for place, cell in enumerate(cells) if cell)
        # Rows may run on in blank cells beyond the heading.
        while len(cells) > width and not cells[-1]:
            cells.pop()
        writer.writerow(cells + [""] * (width - len(cells)))
    return out.getvalue()


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, datetime):
        midnight = value.time() == time()
        return value.date().isoformat() if midnight else value.isoformat(sep=" ", timespec="minutes")
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    return " ".join(str(value).split())
