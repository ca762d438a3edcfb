"""What a line of the log says beside its message: which request, which job. Nothing typed, no names, no secrets.

A line is JSON in a deployment and plain text on one's own machine. Knows nothing else of ours, so that every layer
may use it.
"""

import json
import logging
import re
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import UTC, datetime
from typing import Any

request_id: ContextVar[str] = ContextVar("request_id", default="")
job_id: ContextVar[int | None] = ContextVar("job_id", default=None)

SANE = re.compile(r"[A-Za-z0-9._-]{8,64}")
# What PostgreSQL adds to a refusal quotes the row, which may name a person.
QUOTED_ROW = re.compile(r"^(DETAIL|CONTEXT):.*$", re.MULTILINE)
KEPT = ("method", "route", "status", "ms", "kind", "sql")


def sane_or_new(offered: str) -> str:
    """The id that a proxy gave a request where it is one, else a new one."""
    return offered if SANE.fullmatch(offered) else uuid.uuid4().hex


@contextmanager
def of_job(number: int) -> Iterator[None]:
    """Let every line within the block name the job."""
    token = job_id.set(number)
    try:
        yield
    finally:
        job_id.reset(token)


class WithIds(logging.Filter):
    """Give every record the ids of the moment, and take the typed part of an address out of the framework's own."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Change the record; never drops one."""
        record.request_id = request_id.get()
        record.job_id = job_id.get()
        request = getattr(record, "request", None)
        if record.name == "django.request" and record.args and request is not None:
            match = getattr(request, "resolver_match", None)
            record.args = (*tuple(record.args)[:-1], match.route if match else "an unknown address")
        return True


class Plain(logging.Formatter):
    """One readable line, with the ids that there are."""

    def __init__(self) -> None:
        super().__init__("{asctime} {levelname} {name}: {message}", style="{")

    def formatMessage(self, record: logging.LogRecord) -> str:  # noqa: N802
        """The line, and in brackets what it belongs to."""
        request, job = getattr(record, "request_id", ""), getattr(record, "job_id", None)
        of = ", ".join(part for part in (request and f"request {request}", job is not None and f"job {job}") if part)
        return super().formatMessage(record) + (f" [{of}]" if of else "")

    def formatException(self, ei: Any) -> str:  # noqa: N802
        """The traceback without quoted rows."""
        return without_rows(super().formatException(ei))


class JsonLines(Plain):
    """One JSON object a line: time, level, logger, message, ids, what was counted, and the traceback."""

    def format(self, record: logging.LogRecord) -> str:
        """The record as one line."""
        line: dict[str, Any] = {
            "time": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname,
            "logger": record.name,
            "message": without_rows(record.getMessage()),
            "request_id": getattr(record, "request_id", "") or None,
            "job_id": getattr(record, "job_id", None),
            **{name: getattr(record, name, None) for name in KEPT},
        }
        if record.exc_info:
            line["traceback"] = self.formatException(record.exc_info)
        return json.dumps({name: value for name, value in line.items() if value is not None}, default=str)


def without_rows(text: str) -> str:
    """`text` without the rows that the database quotes."""
    return QUOTED_ROW.sub(r"\1 left out", text)


def logging_from(level: str, form: str) -> dict[str, Any]:
    """The settings of logging for Django, gunicorn and the worker; `form` is 'plain' or 'json'."""
    formatter = JsonLines if form == "json" else Plain
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "filters": {"ids": {"()": WithIds}},
        "formatters": {"line": {"()": formatter}},
        "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line", "filters": ["ids"]}},
        "root": {"handlers": ["console"], "level": level},
        "loggers": {
            # Refusals are a page's daily work and stand in the line of the request; failures keep their traceback.
            "django.request": {"level": "ERROR"},
            # Says each arrival and each end of a task; the ledger tells more.
            "celery.worker.strategy": {"level": "WARNING"},
            "celery.app.trace": {"level": "WARNING"},
        },
    }
