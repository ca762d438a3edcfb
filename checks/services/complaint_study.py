"""The study of fuel complaints against travel: derived, made anew at will with the same numbers."""

import hashlib
from dataclasses import asdict
from typing import Any

import numpy as np
from django.db import transaction
from django.utils import timezone

from checks.convert import CODE_VERSION, jsonable
from checks.models import ComplaintStudy
from checks.rules.complaints import Correlation, Travel, correlate, silent, strata_tables
from checks.selectors.complaint_study import StudyTable, study_is_stale, study_table
from fleet.jobs.requests import enqueue

CORRELATE = "correlate-complaints"
LAGS = range(7)
LETTERS = {Travel.UNKNOWN: "u", Travel.INSIDE: "i", Travel.OUTSIDE_LOW: "l", Travel.OUTSIDE_HIGH: "h"}


def correlate_if_stale() -> None:
    """Ask for the study where complaints changed since the last."""
    if study_is_stale():
        enqueue(kind=CORRELATE, arguments={}, key=CORRELATE)


def study_complaints(*, anew: bool = False) -> ComplaintStudy | None:
    """Relate complaints to travel at every lag and keep it. One whose inputs did not change keeps its row.

    With ``anew`` its numbers are written again. Without truck-months there is no study, and the old one does not count.
    """
    began, table = timezone.now(), study_table()
    current = ComplaintStudy.objects.filter(is_current=True)
    with transaction.atomic():
        if table is None:
            current.update(is_current=False)
            return None
        inputs = _digest(table)
        known = current.filter(inputs=inputs).first()
        columns = _columns(table) if known is None or anew else {}
        if known is None:
            current.update(is_current=False)
            known = ComplaintStudy(inputs=inputs)
        for name, value in columns.items():
            setattr(known, name, value)
        known.save()
        # As old as what was read: a complaint filed meanwhile makes it stale.
        ComplaintStudy.objects.filter(pk=known.pk).update(made_at=began)
    return known


def _columns(table: StudyTable) -> dict[str, Any]:
    months = table.months
    found = [correlate(months, lag) for lag in LAGS]
    return {
        "code_version": CODE_VERSION,
        "first_month": int(months.month.min()),
        "last_month": int(months.month.max()),
        "trucks": len(np.unique(months.truck)),
        "cells": len(months.truck),
        "lags": [_lag(lag, table, one) for lag, one in zip(LAGS, found, strict=True)],
        "complaints": [[pk, truck, "".join(_letter(one, row) for one in found)] for pk, truck, row in table.complaints],
        "silent": _silent(table),
        "derived_from": {"fuel_fit": table.fit, "complaints": len(table.complaints)},
    }


def _lag(lag: int, table: StudyTable, found: Correlation) -> dict[str, Any]:
    letters = [_letter(found, row) for _, _, row in table.complaints]
    names, tables = strata_tables(table.months, found.state)
    return {
        "lag": lag,
        # An estimate or upper limit beyond any number is null, and so is what no stratum tells: ``strata`` 0 then.
        **{side: jsonable(asdict(getattr(found, side))) for side in ("overall", "low", "high")},
        "explained": sum(letter in "lh" for letter in letters),
        "unexplained": letters.count("i"),
        "unknown": letters.count("u"),
        "tables": [
            {
                "model": table.strata[name][0],
                "depot": table.strata[name][1],
                "cells": cells.ravel().astype(int).tolist(),
            }
            for name, cells in zip(names.tolist(), tables, strict=True)
        ],
    }


def _letter(found: Correlation, row: int) -> str:
    return "u" if row < 0 else LETTERS[Travel(int(found.state[row]))]


def _silent(table: StudyTable) -> list[list[Any]]:
    months, quiet = table.months, silent(table.months)
    return [
        [
            int(months.truck[row]), int(table.unit[row]) or None, int(since), int(months.month[row]),
            LETTERS[Travel(int(months.travel[row]))],
        ]
        for row, since in zip(quiet.row.tolist(), quiet.since.tolist(), strict=True)
    ]  # fmt: skip


def _digest(table: StudyTable) -> str:
    months = table.months
    digest = hashlib.sha256(repr((CODE_VERSION, table.strata, table.complaints, table.fit)).encode())
    for column in (months.truck, months.month, months.stratum, months.travel, months.thirsty, table.unit):
        digest.update(np.ascontiguousarray(column).tobytes())
    return digest.hexdigest()
