"""Keeps a file of trips as UTF-8 lines, and hands it out in chunks that end with a line."""

import codecs
import csv
import io
import re
import shutil
import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from fleet.imports.kept import folder_of, write_over
from fleet.imports.report import COLUMNS
from fleet.imports.trips import parquet
from fleet.imports.workbook import Bounds, csv_text, is_workbook, workbook_lines
from fleet.problems import FleetError

CHUNK_BYTES = 3 << 19
# Decoding works in blocks; a block is much smaller than a chunk so that a file's size never shows in memory.
BLOCK = 1 << 20
WORKBOOK = Bounds(rows=300_000, unpacked=1 << 30, beyond="Save the sheet as CSV, which may have any number.")
LONGEST_LINE = 20_000
LONGEST_UNENDED = 2 << 20
FOLDER = "trips"


def chunk_folder(key: uuid.UUID, *, trial: bool) -> Path:
    """Where what its chunks told is kept, each under the place where it begins."""
    return folder_of(FOLDER, key) / ("trial" if trial else "refused")


def source_of(key: uuid.UUID) -> Path:
    """The file itself, as UTF-8 lines. Raises FleetError when it was cleared away."""
    path = folder_of(FOLDER, key) / "source"
    if not path.exists():
        raise FleetError("trip_file_gone", "", "The file of this import was cleared away. Send it again.", status=404)
    return path


def keep(key: uuid.UUID, upload: BinaryIO) -> int:
    """Keep an upload as UTF-8 lines without byte order mark; return its size in bytes. Raises FleetError."""
    folder = folder_of(FOLDER, key)
    folder.mkdir(parents=True)
    try:
        with (folder / "source").open("wb") as out:
            unended = 0
            for text in _text_of(upload):
                if "\0" in text:
                    raise _refused("not_text", "This is no text file. Send CSV, XLSX or Parquet.")
                unended = len(text) - 1 - text.rindex("\n") if "\n" in text else unended + len(text)
                if unended > LONGEST_UNENDED:
                    raise _refused("line_too_long", "A line goes on for more than 2 MB: this is no table of trips.")
                out.write(text.encode())
        _refuse_bare(folder / "source")
    except BaseException:
        shutil.rmtree(folder)
        raise
    return (folder / "source").stat().st_size


def _refuse_bare(path: Path) -> None:
    _, offset = heading_of(path)
    if not any(block.strip() for _, block in chunks_after(path, offset)):
        raise _refused("file_without_lines", "The file has a heading but no lines under it.")


def heading_of(path: Path) -> tuple[str, int]:
    """The first line that tells something, and the offset of the line after it. Raises FleetError."""
    with path.open("rb") as file:
        while line := file.readline(LONGEST_LINE + 1):
            if len(line) > LONGEST_LINE:
                raise _refused("line_too_long", "The first line is too long for a heading: this is no table of trips.")
            if _tells(line):
                return line.decode().rstrip("\n"), file.tell()
    raise _refused("file_empty", "The file is empty. Its first line must name the columns.")


def heading_cells(heading: str, delimiter: str) -> list[str]:
    """The headings of the columns, without the blanks around them."""
    return [name.strip() for name in next(csv.reader([heading], delimiter=delimiter))]


def headings_of(key: uuid.UUID, delimiter: str) -> list[str]:
    """The same of a kept file."""
    return heading_cells(heading_of(source_of(key))[0], delimiter)


def heading_number(path: Path) -> int:
    """The number of the heading's line: blank lines may come before it, or ``sep=;``."""
    with path.open("rb") as file:
        return next((number for number, line in enumerate(file, start=1) if _tells(line)), 1)


def _tells(line: bytes) -> bool:
    return bool(line.strip()) and not re.fullmatch(rb"sep=.\s*", line)


def chunks_after(path: Path, offset: int, size: int = CHUNK_BYTES) -> Iterator[tuple[int, bytes]]:
    """Yield (offset of the end, bytes) of each chunk from `offset` on; each ends with a line or with the file."""
    with path.open("rb") as file:
        file.seek(offset)
        while block := file.read(size):
            block += file.readline()
            yield file.tell(), block


def first_lines(path: Path, offset: int, size: int = 64 * 1024) -> bytes:
    """The first lines under the heading."""
    return next((block for _, block in chunks_after(path, offset, size)), b"")


def keep_refused(key: uuid.UUID, begin: int, lines: str, *, trial: bool) -> None:
    """Keep a chunk's refused lines under its place: done again, they are written over by the same."""
    path = chunk_folder(key, trial=trial) / f"{begin:015d}.csv"
    if lines:
        write_over(path, lines)
    else:
        path.unlink(missing_ok=True)


def refused_parts(key: uuid.UUID, *, trial: bool, until: int) -> Iterator[str]:
    """The refused lines of a file as CSV, part by part; those of chunks that begin before byte `until`."""
    yield csv_text([COLUMNS])
    for path in sorted(chunk_folder(key, trial=trial).glob("*.csv")):
        if int(path.stem) < until:
            yield path.read_text()


def _text_of(upload: BinaryIO) -> Iterator[str]:
    head = upload.read(4)
    upload.seek(0)
    if is_workbook(head):
        return workbook_lines(upload, WORKBOOK, whole_days=False)
    if head == parquet.HEAD:
        return parquet.parquet_lines(upload)
    if head.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return _decoded(upload, "utf-16")
    return _decoded(upload, "utf-8-sig" if _is_utf8(upload) else "cp1252")


def _is_utf8(upload: BinaryIO) -> bool:
    decoder = codecs.getincrementaldecoder("utf-8")()
    try:
        for block in iter(lambda: upload.read(BLOCK), b""):
            if decoder.getstate()[0] or not block.isascii():
                decoder.decode(block)
        decoder.decode(b"", final=True)
    except UnicodeDecodeError:
        return False
    finally:
        upload.seek(0)
    return True


def _decoded(upload: BinaryIO, encoding: str) -> Iterator[str]:
    """Text with one kind of line end."""
    decoder = codecs.getincrementaldecoder(encoding)(errors="replace")
    newlines = io.IncrementalNewlineDecoder(decoder, translate=True)
    for block in iter(lambda: upload.read(BLOCK), b""):
        yield newlines.decode(block)
    yield newlines.decode(b"", final=True)


def _refused(code: str, sentence: str) -> FleetError:
    return FleetError(code, "file", sentence)
