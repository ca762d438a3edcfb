"""The questions to try on the demonstration; a fleet of one's own has no such page."""

from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import urlencode
from django.views import View

from fleet.selectors.demonstration import demonstration
from fleet.web.access import PersonRequest, ViewerView
from reports.pages.tour_questions import QUESTIONS, Question
from reports.selectors.entered import entered_since
from reports.selectors.planted import Planted
from reports.words.grammar import listing


class TourView(ViewerView, View):
    """Every question with the way to its answer, and what was planted beside what is found."""

    def get(self, request: PersonRequest) -> HttpResponse:
        """Answer with the page."""
        shown = demonstration()
        if shown is None:
            raise Http404
        put = Planted(request.user, shown)
        context: dict[str, Any] = {
            "shown": shown,
            "questions": [(question, _begin(question, put), question.answer(put)) for question in QUESTIONS],
            "entered": listing(entered_since(shown)),
        }
        return render(request, "reports/tour.html", context)


def _begin(question: Question, put: Planted) -> str:
    """Where to begin: a page, narrowed to the unit that the question is about where the person sees it."""
    address, serial = reverse(question.begin[1]), put.facts[question.unit]["serial"] if question.unit else ""
    return f"{address}?{urlencode({'find': serial})}" if serial in put.units else address
