"""The review of the intervals between checks."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views import View

from fleet.web.access import PersonRequest, ViewerView
from reports.charts.intervals import intervals_figure
from reports.selectors.intervals import interval_page
from reports.sentences.drift import intervals_sentence


class IntervalsView(ViewerView, View):
    """Show, model by model, whether the intervals in use reach the policy's target."""

    def get(self, request: PersonRequest) -> HttpResponse:
        """Answer with the page."""
        page = interval_page(user=request.user)
        shown = [(row.name, row.review) for row in page.rows if row.review.share is not None]
        context = {
            "page": page,
            "sentence": intervals_sentence(page),
            "figure": intervals_figure(shown, page.policy.target_outside) if shown else None,
        }
        return render(request, "reports/intervals.html", context)
