"""Files to take away."""

import csv
import io
from collections.abc import Iterable, Iterator, Sequence

from django.http import HttpResponse, StreamingHttpResponse


def file_answer(name: str, content: bytes, *, content_type: str) -> HttpResponse:
    """Send a file for this person alone, which nothing on the way keeps."""
    answer = HttpResponse(content, content_type=content_type)
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    answer["Cache-Control"] = "private, no-store"
    return answer


def csv_answer(name: str, parts: Iterable[str]) -> StreamingHttpResponse:
    """Send CSV part by part as it is made, in UTF-8 behind the mark by which spreadsheet programs know it."""
    answer = StreamingHttpResponse(_marked(parts), content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


def csv_lines(header: Sequence[str], rows: Iterable[Sequence[object]]) -> Iterator[str]:
    """Yield the header and each row as a line of RFC 4180."""
    yield _line(header)
    yield from map(_line, rows)


def _marked(parts: Iterable[str]) -> Iterator[str]:
    yield "\ufeff"
    yield from parts


def _line(cells: Sequence[object]) -> str:
    out = io.StringIO()
    csv.writer(out).writerow(cells)
    return out.getvalue()
