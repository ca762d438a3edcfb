"""From the bytes of a file to lines of cells, each kept with the text as it came."""

import codecs
import csv
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass

from fleet.imports.workbook import Bounds, is_workbook, workbook_lines
from fleet.problems import FleetError

MOST_BYTES = 10 * 1024 * 1024
MOST_LINES = 20_000
LONGEST_CELL = 500
WORKBOOK = Bounds(rows=MOST_LINES, unpacked=100 << 20, beyond="Split the sheet and send the parts.")
DELIMITERS = ",;\t|"
FIRST_SHEET = "The first sheet of the workbook was read; others are left out."
# The reader itself shall not give up on a cell that we refuse with a sentence.
csv.field_size_limit(MOST_BYTES)


@dataclass(frozen=True, slots=True)
class Line:
    """One record of the file: where it began, its text as it came, its cells."""

    number: int
    original: str
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Source:
    """A file, taken apart."""

    heading: tuple[str, ...]
    lines: tuple[Line, ...]
    notices: tuple[str, ...]


def take_apart(content: bytes) -> Source:
    """Decode a file, find its delimiter, and split it. Raises FleetError on field ``file``."""
    if len(content) > MOST_BYTES:
        raise _refused(
            "file_too_large", f"The file is larger than {MOST_BYTES // 2**20} MB. Split it and send the parts."
        )
    notices: tuple[str, ...]
    if is_workbook(content):
        text = "".join(workbook_lines(io.BytesIO(content), WORKBOOK, whole_days=True))
        notices, declared = (FIRST_SHEET,), ","
    else:
        text, notices = _decode(content)
        text, declared = _declared_delimiter(text)
    records = [line for line in _split(text, declared or _likely_delimiter(text)) if any(map(str.strip, line.cells))]
    if not records:
        raise _refused("file_empty", "The file is empty. Its first line must name the columns.")
    heading, *lines = records
    if not lines:
        raise _refused("file_without_lines", "The file has a heading but no lines under it.")
    if len(lines) > MOST_LINES:
        raise _refused("too_many_lines", f"The file has {len(lines):,} lines; send at most {MOST_LINES:,} at once.")
    return Source(heading.cells, tuple(lines), notices)


def _refused(code: str, sentence: str) -> FleetError:
    return FleetError(code, "file", sentence)


def _decode(content: bytes) -> tuple[str, tuple[str, ...]]:
    notices: tuple[str, ...] = ()
    try:
        if content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
            text = content.decode("utf-16")
        else:
            text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = content.decode("cp1252", errors="replace")
        notices = ("The file is not UTF-8; it was read as Windows-1252. Look at letters with accents.",)
    if "\0" in text:
        raise _refused("not_text", "This is not a text file. Send CSV, best saved as UTF-8.")
    return text, notices


def _declared_delimiter(text: str) -> tuple[str, str]:
    declared = re.match(r"sep=(.)\r?\n", text)
    return (text[declared.end() :], declared.group(1)) if declared else (text, "")


def _likely_delimiter(text: str) -> str:
    """The one that splits the heading into most cells."""
    heading = next((line for line in text.splitlines() if line.strip()), "")
    bare = re.sub(r'"[^"]*"', "", heading)
    return max(DELIMITERS, key=bare.count)


class _Remembering:
    """Hands lines to the CSV reader and remembers what it took."""

    def __init__(self, text: str) -> None:
        self._lines = io.StringIO(text, newline="")
        self._taken: list[str] = []

    def __iter__(self) -> Iterator[str]:
        return self

    def __next__(self) -> str:
        line = next(self._lines)
        self._taken.append(line)
        return line

    def take(self) -> str:
        taken = "".join(self._taken).rstrip("\r\n")
        self._taken.clear()
        return taken


def _split(text: str, delimiter: str) -> Iterator[Line]:
    lines = _Remembering(text)
    reader = csv.reader(lines, delimiter=delimiter)
    number = 1
    try:
        for cells in reader:
            yield Line(number, lines.take(), tuple(cells))
            number = reader.line_num + 1
    except csv.Error as error:
        raise _refused("not_csv", f"Line {reader.line_num} cannot be read as CSV: {error}.") from error
