"""The first sheet of a workbook as lines of CSV, row by row, so that it goes the way of every other file."""

import csv
import io
import zipfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, time
from typing import BinaryIO
from xml.etree.ElementTree import ParseError

from fleet.problems import FleetError

HEAD, OLD_HEAD = b"PK\x03\x04", b"\xd0\xcf\x11\xe0"
# A zip of some kilobytes may unpack to any size; the texts that cells share are held all at once.
MOST_SHARED_TEXTS = 64 << 20
MOST_COLUMNS = 256
ROWS_AT_ONCE = 10_000


@dataclass(frozen=True, slots=True)
class Bounds:
    """How large a workbook may be, and what to do with a larger one."""

    rows: int
    unpacked: int
    beyond: str


def is_workbook(head: bytes) -> bool:
    """Whether a file that begins so is a workbook in XLSX, which is a zip. Raises FleetError for the old form."""
    if head.startswith(OLD_HEAD):
        raise FleetError("not_text", "file", "This is an old workbook. Save it as XLSX or CSV and send that.")
    return head.startswith(HEAD)


def workbook_lines(upload: BinaryIO, bounds: Bounds, *, whole_days: bool) -> Iterator[str]:
    """The first sheet, part by part; with `whole_days` a moment at midnight is its day.

    Raises FleetError on field ``file``.
    """
    # Only those who send a workbook need its 30 MB.
    from openpyxl import load_workbook
    from openpyxl.utils.exceptions import InvalidFileException

    broken = (InvalidFileException, zipfile.BadZipFile, KeyError, IndexError, ValueError, OSError, TypeError)
    try:
        _refuse_swollen(upload, bounds)
        sheet = load_workbook(upload, read_only=True, data_only=True).worksheets[0]
        # What the sheet says of its own size is not to be believed.
        sheet.reset_dimensions()
        rows = _bounded(sheet.iter_rows(values_only=True, max_col=MOST_COLUMNS), bounds)
        yield from _as_csv([_cell(value, whole_days=whole_days) for value in row] for row in rows)
    except (*broken, ParseError, EOFError, NotImplementedError, AttributeError, RuntimeError) as error:
        sentence = "This workbook cannot be read. Send the table as CSV."
        raise FleetError("workbook_unreadable", "file", sentence) from error


def csv_text(rows: Iterable[Iterable[str]]) -> str:
    """Rows as lines of CSV."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(rows)
    return out.getvalue()


def _refuse_swollen(upload: BinaryIO, bounds: Bounds) -> None:
    with zipfile.ZipFile(upload) as parts:
        sizes = {part.filename: part.file_size for part in parts.infolist()}
    shared = sum(size for name, size in sizes.items() if not name.startswith("xl/worksheets/"))
    if sum(sizes.values()) > bounds.unpacked or shared > MOST_SHARED_TEXTS:
        sentence = "This workbook unpacks to too much. Save the sheet as CSV and send that."
        raise FleetError("file_too_large", "file", sentence)
    upload.seek(0)


def _bounded(rows: Iterable[tuple[object, ...]], bounds: Bounds) -> Iterator[tuple[object, ...]]:
    for number, row in enumerate(rows):
        if number > bounds.rows:
            sentence = f"A workbook may have {bounds.rows:,} rows. {bounds.beyond}"
            raise FleetError("too_many_lines", "file", sentence)
        yield row


def _as_csv(rows: Iterable[list[str]]) -> Iterator[str]:
    width = 0
    waiting: list[list[str]] = []
    for cells in rows:
        if not width:
            width = max((place + 1 for place, cell in enumerate(cells) if cell), default=0)
        # A sheet's rows may run on in blank cells beyond the heading.
        while len(cells) > width and not cells[-1]:
            cells.pop()
        # A blank row keeps its line, so that lines are numbered as rows are.
        waiting.append(cells + [""] * (width - len(cells)) if any(cells) else [])
        if len(waiting) == ROWS_AT_ONCE:
            yield csv_text(waiting)
            waiting = []
    yield csv_text(waiting)


def _cell(value: object, *, whole_days: bool) -> str:
    if value is None:
        return ""
    if isinstance(value, datetime):
        midnight = whole_days and value.time() == time()
        return value.date().isoformat() if midnight else value.isoformat(sep=" ", timespec="seconds")
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    return " ".join(str(value).replace("\0", " ").split())
