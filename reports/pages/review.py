"""The monthly review: runs kept, one run, and its files."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views import View

from fleet.problems import FleetError
from fleet.web.access import VIEWER, PersonRequest, RoleView
from fleet.web.files import file_answer
from fleet.web.forms import show_refusal
from reports.export.frozen import Run, grouped
from reports.pages.review_form import AskForm
from reports.selectors.reviews import review_file, review_row, review_rows, review_run
from reports.services.review import ask_review

# More rows of a table than this are read in its files.
SHOWN = 25


class ReviewsView(RoleView, View):
    """The runs kept, and asking for one. Asking only reads, so that whoever may read a depot may ask."""

    costly = ("POST",)
    role_to_write = VIEWER

    def get(self, request: PersonRequest) -> HttpResponse:
        """Answer with the list."""
        return self._page(request, AskForm(user=request.user))

    def post(self, request: PersonRequest) -> HttpResponse:
        """Ask for a run and go to it."""
        form = AskForm(request.POST, user=request.user)
        if form.is_valid():
            month, depot = form.wanted()
            try:
                review = ask_review(user=request.user, month=month, depot=depot, key=form.cleaned_data["key"])
            except FleetError as error:
                show_refusal(form, error)
            else:
                messages.success(request, "The review is being made. This page shows how far it is.")
                return redirect("reports:review", review.pk)
        return self._page(request, form, status=400)

    def _page(self, request: PersonRequest, form: AskForm, status: int = 200) -> HttpResponse:
        context = {"form": form, "rows": review_rows(request.user)}
        return render(request, "reports/reviews.html", context, status=status)


class ReviewView(RoleView, View):
    """One run: its summary, tables and files; its progress while it is on its way."""

    template = "reports/review.html"

    def get(self, request: PersonRequest, pk: int) -> HttpResponse:
        """Answer with the page."""
        row = review_row(request.user, pk)
        run = review_run(request.user, pk) if row.state == "done" else None
        return render(request, self.template, {"row": row, "run": run, "tables": _tables(run) if run else []})


class ReviewProgressView(RoleView, View):
    """The part that changes; once the run is over the page is loaded again."""

    def get(self, request: PersonRequest, pk: int) -> HttpResponse:
        """Answer with the fragment."""
        row = review_row(request.user, pk)
        answer = render(request, "reports/review_progress.html", {"row": row})
        if not row.is_open:
            answer["HX-Refresh"] = "true"
        return answer


class ReviewFileView(RoleView, View):
    """A file to take away."""

    costly = ("GET",)

    def get(self, request: PersonRequest, pk: int, kind: str) -> HttpResponse:
        """Answer with the file."""
        found = review_file(request.user, pk, kind)
        return file_answer(found.name, found.content, content_type=found.content_type)


def _tables(run: Run) -> list[dict[str, Any]]:
    """The tables as a page shows them: cells beside what their columns are."""
    return [
        {
            "table": table,
            "head": table.columns,
            "rows": [
                [(grouped(cell, column), column) for cell, column in zip(row, table.columns, strict=True)]
                for row in table.rows[:SHOWN]
            ],
            "total": len(table.rows),
            "more": len(table.rows) > SHOWN,
        }
        for table in run.tables
    ]
