"""Do complaints go with travel? The study's page, and its complaints as a file."""

from collections.abc import Iterator
from typing import Any

from django.http import HttpResponse, QueryDict, StreamingHttpResponse
from django.shortcuts import render
from django.views import View

from fleet.imports.report import harmless
from fleet.web.access import PersonRequest, ViewerView
from fleet.web.files import csv_answer, csv_lines
from reports.charts.complaint_study import LagMark, lag_figure
from reports.selectors.complaint_study import LAGS, LONGEST, OUTCOMES, USUAL_LAG, Ratio, StudyPage, study_page
from reports.sentences.complaint_study import counts_sentence, ratio_text, side_sentence, study_sentence

COLUMNS = ("row", "truck", "depot", "raised on or since", "closed", *(f"travel, lag {lag} months" for lag in LAGS))
OUTCOME_WORDS = {"outside_low": "outside low", "outside_high": "outside high", "inside": "inside", "": "not known"}


class ComplaintStudyView(ViewerView, View):
    """Show complaints against travel at one lag."""

    def get(self, request: PersonRequest) -> HttpResponse:
        """Answer with the page; ``lag`` in the address chooses how many months before a complaint count."""
        lag = lag_from(request.GET)
        page = study_page(user=request.user, lag=lag)
        marks = [_mark(months, ratio, lag) for months, ratio in page.by_lag if ratio.told]
        context: dict[str, Any] = {
            "page": page,
            "lags": LAGS,
            "sentence": study_sentence(page),
            "counts": counts_sentence(page),
            "sides": [side_sentence(page, side) for side in ("low", "high")] if page.made_at else [],
            "figure": lag_figure(marks) if marks else None,
            "by_lag": [(months, ratio_text(ratio), ratio) for months, ratio in page.by_lag],
            "lists": [(name, rows[:LONGEST], len(rows)) for name in ("explained", "unexplained", "unknown")
                      if (rows := page.of_outcome(name))],
            "silent": page.silent[:LONGEST],
        }  # fmt: skip
        return render(request, "reports/complaint_study.html", context)


class ComplaintStudyFileView(ViewerView, View):
    """Every complaint with what travel did at each lag, and the silent trucks, as CSV."""

    costly = ("GET",)

    def get(self, request: PersonRequest) -> StreamingHttpResponse:
        """Answer with the file."""
        rows = _rows(study_page(user=request.user))
        return csv_answer("complaints-against-travel.csv", csv_lines(COLUMNS, rows))


def lag_from(query: QueryDict) -> int:
    """The lag asked for; what cannot be read is the usual one."""
    text = query.get("lag", "")
    return int(text) if text in {str(lag) for lag in LAGS} else USUAL_LAG


def _mark(lag: int, ratio: Ratio, chosen: int) -> LagMark:
    return LagMark(lag=lag, estimate=ratio.estimate, low=ratio.low, high=ratio.high, chosen=lag == chosen)


def _rows(page: StudyPage) -> Iterator[list[object]]:
    for row in page.heard:
        travel = [OUTCOME_WORDS[OUTCOMES[letter]] for letter in row.letters]
        closed = "yes" if row.closed else "no"
        yield ["complaint", harmless(row.truck), harmless(row.depot), row.raised_on, closed, *travel]
    for quiet in page.silent:
        travel = [OUTCOME_WORDS[quiet.state]] * len(LAGS)
        yield ["silent truck", harmless(quiet.truck), harmless(quiet.depot), quiet.since, "", *travel]
