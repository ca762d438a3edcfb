"""Workbooks and Parquet files as lines of CSV, row by row, so that they go the way of every other file."""

import csv
import io
import zipfile
from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import BinaryIO
from xml.etree.ElementTree import ParseError

import pyarrow as pa
from pyarrow import compute, parquet
from pyarrow import csv as arrow_csv

from fleet.problems import FleetError

# A zip of some kilobytes may unpack to any size; rows of a sheet and its shared texts count against these.
MOST_UNPACKED = 1 << 30
MOST_SHARED_TEXTS = 64 << 20
MOST_SHEET_ROWS = 300_000
MOST_COLUMNS = 256
# A group of rows of a Parquet file is unpacked as a whole.
MOST_GROUP = 256 << 20
ROWS_AT_ONCE = 10_000


def workbook_lines(upload: BinaryIO) -> Iterator[str]:
    """The first sheet of a workbook in XLSX. Raises FleetError on field ``file``."""
    # Only those who send a workbook need its 30 MB.
    from openpyxl import load_workbook
    from openpyxl.utils.exceptions import InvalidFileException

    broken = (InvalidFileException, zipfile.BadZipFile, KeyError, IndexError, ValueError, OSError, TypeError)
    try:
        _refuse_swollen(upload)
        sheet = load_workbook(upload, read_only=True, data_only=True).worksheets[0]
        # What the sheet says of its own size is not to be believed.
        sheet.reset_dimensions()
        yield from _as_csv(_bounded(sheet.iter_rows(values_only=True, max_col=MOST_COLUMNS)))
    except (*broken, ParseError, EOFError, NotImplementedError, AttributeError, RuntimeError) as error:
        raise _unreadable("workbook") from error


def parquet_lines(upload: BinaryIO) -> Iterator[str]:
    """The plain columns of a Parquet file. Raises FleetError on field ``file``."""
    try:
        file = parquet.ParquetFile(upload)
        groups = (file.metadata.row_group(place) for place in range(file.metadata.num_row_groups))
        if any(group.total_byte_size > MOST_GROUP for group in groups):
            raise _refused("file_too_large", "A group of rows in this file is too large. Write it in smaller groups.")
        names = [field.name for field in file.schema_arrow if not pa.types.is_nested(field.type)]
        yield _written([names])
        for batch in file.iter_batches(ROWS_AT_ONCE, columns=names):
            out = pa.BufferOutputStream()
            plain = pa.RecordBatch.from_arrays([_plain(column) for column in batch.columns], names)
            arrow_csv.write_csv(plain, out, arrow_csv.WriteOptions(include_header=False, quoting_style="needed"))
            yield out.getvalue().to_pybytes().decode()
    except (pa.ArrowException, OSError, ValueError, KeyError, OverflowError) as error:
        raise _unreadable("Parquet file") from error


def _plain(column: pa.Array) -> pa.Array:
    """Numbers and moments as they are, all else as text of one line; moments to the microsecond."""
    if pa.types.is_dictionary(column.type):
        column = column.dictionary_decode()
    if pa.types.is_timestamp(column.type):
        return column.cast(pa.timestamp("us", column.type.tz), safe=False)
    if pa.types.is_integer(column.type) or pa.types.is_float64(column.type):
        return column
    return compute.replace_substring_regex(column.cast(pa.string()), r"\s+", " ")


def _refuse_swollen(upload: BinaryIO) -> None:
    with zipfile.ZipFile(upload) as parts:
        sizes = {part.filename: part.file_size for part in parts.infolist()}
    shared = sum(size for name, size in sizes.items() if not name.startswith("xl/worksheets/"))
    if sum(sizes.values()) > MOST_UNPACKED or shared > MOST_SHARED_TEXTS:
        raise _refused("file_too_large", "This workbook unpacks to too much. Save the sheet as CSV and send that.")
    upload.seek(0)


def _bounded(rows: Iterable[tuple[object, ...]]) -> Iterator[tuple[object, ...]]:
    for number, row in enumerate(rows):
        if number > MOST_SHEET_ROWS:
            most = f"A workbook may have {MOST_SHEET_ROWS:,} rows."
            raise _refused("too_many_lines", f"{most} Save the sheet as CSV, which may have any number.")
        yield row


def _as_csv(rows: Iterable[tuple[object, ...]]) -> Iterator[str]:
    width, waiting = 0, []
    for row in rows:
        cells = [_cell(value) for value in row]
        if not width:
            width = max((place + 1 for place, cell in enumerate(cells) if cell), default=0)
        # A sheet's rows may run on in blank cells beyond the heading.
        while len(cells) > width and not cells[-1]:
            cells.pop()
        # A blank row keeps its line, so that lines are numbered as rows are.
        waiting.append(cells + [""] * (width - len(cells)) if any(cells) else [])
        if len(waiting) == ROWS_AT_ONCE:
            yield _written(waiting)
            waiting = []
    yield _written(waiting)


def _written(rows: Iterable[Iterable[str]]) -> str:
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(rows)
    return out.getvalue()


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, datetime):
        return value.isoformat(sep=" ", timespec="seconds")
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    return " ".join(str(value).replace("\0", " ").split())


def _unreadable(what: str) -> FleetError:
    return _refused(f"{what.split()[0].lower()}_unreadable", f"This {what} cannot be read. Send the table as CSV.")


def _refused(code: str, sentence: str) -> FleetError:
    return FleetError(code, "file", sentence)
