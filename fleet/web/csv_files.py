"""CSV to take away: RFC 4180, UTF-8 behind the mark by which spreadsheet programs know it."""

import csv
import io
from collections.abc import Iterable, Iterator, Sequence

from django.http import StreamingHttpResponse


def csv_answer(name: str, parts: Iterable[str]) -> StreamingHttpResponse:
    """Send the parts of a file one after the other, as they are made, however long it is."""
    answer = StreamingHttpResponse(_marked(parts), content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


def csv_lines(header: Sequence[str], rows: Iterable[Sequence[object]]) -> Iterator[str]:
    """Yield the header and each row as a line."""
    yield _line(header)
    yield from map(_line, rows)


def _marked(parts: Iterable[str]) -> Iterator[str]:
    yield "\ufeff"
    yield from parts


def _line(cells: Sequence[object]) -> str:
    out = io.StringIO()
    csv.writer(out).writerow(cells)
    return out.getvalue()
