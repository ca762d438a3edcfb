"""A chunk to lines and their cells; lines that cannot be split are refused."""

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt
import pyarrow as pa
from pyarrow import csv as arrow_csv

from fleet.selectors.trips import Flags, Ints

# One column's cells as text; a blank cell is null.
Cells: TypeAlias = pa.StringArray
# Arrow makes a scalar of None by way of pandas.
BLANK = pa.nulls(1, pa.string())[0]
QUOTE, LINE_END = ord('"'), 10


@dataclass(frozen=True, slots=True)
class Lines:
    """The lines of a chunk that are not blank. ``text`` is the chunk, ``begins`` and ``ends`` are places in it.

    ``numbers`` counts the file's lines from 1; ``whole`` says which could be split into as many cells as the heading
    has, ``lines_read`` how many lines the chunk has with the blank ones.
    """

    text: bytes
    begins: Ints
    ends: Ints
    numbers: Ints
    whole: Flags
    lines_read: int

    def original(self, place: int) -> str:
        """One line as it came."""
        return self.text[self.begins[place] : self.ends[place]].decode(errors="replace")


def split_lines(block: bytes, delimiter: str, width: int, before: int) -> tuple[Lines, bytes]:
    """The lines of a chunk, and the whole ones as clean CSV. `before` lines of the file come before it."""
    if not block.endswith(b"\n"):
        block += b"\n"
    sign = np.frombuffer(block, np.uint8)
    ends = np.flatnonzero(sign == LINE_END)
    begins = np.concatenate([[0], ends[:-1] + 1])
    numbers = before + 1 + np.arange(len(ends))
    separators = np.flatnonzero(sign == ord(delimiter))
    signs = _between(separators, begins, ends)
    # Only a line without a separator can be blank, and such lines are few.
    blank = np.zeros(len(ends), bool)
    for place in np.flatnonzero(signs == 0).tolist():
        blank[place] = not block[begins[place] : ends[place]].strip()
    whole = (signs == width - 1) & ~blank
    marks = sign == QUOTE
    odd = _odd(sign, marks, separators, begins, ends) if marks.any() else np.zeros(len(ends), bool)
    quoted: dict[int, bytes] = {}
    for place in np.flatnonzero(odd).tolist():
        clean = _unquoted(block[begins[place] : ends[place]], delimiter, width)
        whole[place] = clean is not None
        quoted[place] = clean or b""
    lines = Lines(block, begins[~blank], ends[~blank], numbers[~blank], whole[~blank], len(ends))
    parts, begin = [], 0
    for place in np.flatnonzero(odd | ~whole).tolist():
        parts.append(_bare(sign[begin : begins[place]], marks[begin : begins[place]]))
        parts.append(quoted[place] + b"\n" if whole[place] else b"")
        begin = int(ends[place]) + 1
    return lines, b"".join([*parts, _bare(sign[begin:], marks[begin:])])


def _bare(sign: npt.NDArray[np.uint8], marks: Flags) -> bytes:
    return bytes(sign[~marks].tobytes() if marks.any() else sign.tobytes())


def read_cells(clean: bytes, count: int, delimiter: str, width: int, places: Mapping[str, int]) -> dict[str, Cells]:
    """The cells of `count` clean lines of `width` cells, for each item at its place."""
    if not count:
        return {item: pa.array([], pa.string()) for item in places}
    names = [str(place) for place in range(width)]
    texts = arrow_csv.ConvertOptions(
        column_types=dict.fromkeys(names, pa.string()), include_columns=[names[place] for place in places.values()],
        null_values=[""], strings_can_be_null=True,
    )  # fmt: skip
    parts = arrow_csv.ParseOptions(delimiter=delimiter, quote_char='"' if b'"' in clean else False)
    whole = arrow_csv.ReadOptions(column_names=names, use_threads=False, block_size=len(clean) + 1)
    try:
        table = arrow_csv.read_csv(pa.BufferReader(clean), whole, parts, texts)
        columns = {item: table.column(names[place]).combine_chunks() for item, place in places.items()}
    except pa.ArrowInvalid:
        table = None
    if table is not None and table.num_rows == count:
        return columns
    # A sign that only the standard library's reader takes as part of a cell.
    rows = list(csv.reader(clean.decode(errors="replace").split("\n")[:count], delimiter=delimiter))
    return {item: pa.array([row[place] or None for row in rows], pa.string()) for item, place in places.items()}


def numbers_of(column: pa.Array, blank: float = 0) -> npt.NDArray[Any]:
    """Values of a column of integers or floats. Arrow's own way loads pandas for this, of 25 MB."""
    kind = np.dtype(column.type.to_pandas_dtype())
    if not len(column):
        return np.empty(0, kind)
    values = np.frombuffer(column.buffers()[1], kind, len(column), column.offset * kind.itemsize)
    return np.where(flags_of(column.is_null()), kind.type(blank), values) if column.null_count else values


def flags_of(column: pa.Array) -> Flags:
    """Values of a column of truths; what is blank is not true."""
    if not len(column):
        return np.zeros(0, bool)
    valid, values = (buffer and _bits(buffer, column) for buffer in column.buffers())
    return values if valid is None else values & valid


def _bits(buffer: pa.Buffer, column: pa.Array) -> Flags:
    bits = np.unpackbits(np.frombuffer(buffer, np.uint8), bitorder="little")
    return bits[column.offset : column.offset + len(column)].astype(bool)


def _between(places: Ints, begins: Ints, ends: Ints) -> Ints:
    """How many of sorted `places` lie in each line."""
    return np.searchsorted(places, ends) - np.searchsorted(places, begins)


def _odd(sign: npt.NDArray[np.uint8], marks: Flags, separators: Ints, begins: Ints, ends: Ints) -> Flags:
    """Lines with a quotation mark that is more than a frame about a cell without separator."""
    at = np.flatnonzero(marks)
    count = _between(at, begins, ends)
    line = np.repeat(np.arange(len(begins)), count)
    opens = (np.arange(len(at)) - (np.cumsum(count) - count)[line]) % 2 == 0
    after, before = sign[at + 1], sign[at - 1]
    separator = sign[separators[0]] if len(separators) else LINE_END
    framed = np.where(opens, (at == begins[line]) | (before == separator), (after == separator) | (after == LINE_END))
    odd = count % 2 == 1
    odd[line[~framed]] = True
    even = ~odd[line]
    first, last = at[even & opens], at[even & ~opens]
    odd[line[even & opens][_between(separators, first, last) > 0]] = True
    return odd


def _unquoted(line: bytes, delimiter: str, width: int) -> bytes | None:
    """The line without quotation marks that are not needed; None where it cannot be split into `width` cells."""
    try:
        cells = next(csv.reader([line.decode(errors="replace")], delimiter=delimiter, strict=True))
    except (csv.Error, StopIteration):
        return None
    if len(cells) != width:
        return None
    if not any(delimiter in cell or '"' in cell for cell in cells):
        return delimiter.join(cells).encode()
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator="").writerow(cells)
    return out.getvalue().encode()
