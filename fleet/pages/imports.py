"""Bringing in a file: upload, trial run, go ahead."""

import uuid
from typing import Any

from django import forms
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse, StreamingHttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views import View

from fleet.imports.formats import FORMATS, format_named
from fleet.imports.job import LINES_AT_ONCE, go_ahead_later
from fleet.imports.report import COLUMNS, refused_rows
from fleet.imports.source import MOST_BYTES
from fleet.imports.staging import go_ahead, stage, staged
from fleet.pages.form_page import OwnForm
from fleet.pages.forms import UserForm
from fleet.problems import FleetError
from fleet.web.access import ManagerView, PersonRequest
from fleet.web.files import csv_answer, csv_lines

LINES_A_PAGE = 100


class UploadForm(UserForm):
    kind = forms.ChoiceField(label="What the file holds", choices=[(kind.name, kind.label) for kind in FORMATS])
    file = forms.FileField(
        label="CSV file or XLSX workbook", allow_empty_file=True, help_text="Up to 20,000 lines and 10 MB."
    )

    def clean_file(self) -> Any:
        """Refuse by size before anything is read."""
        upload = self.cleaned_data["file"]
        if upload.size > MOST_BYTES:
            raise forms.ValidationError(
                f"The file is larger than {MOST_BYTES // 2**20} MB. Split it.", code="too_large"
            )
        return upload


class Upload(ManagerView, OwnForm):
    costly = ("POST",)
    template_name = "fleet/import/upload.html"
    form_class = UploadForm
    title = "Bring in a file"
    lead = "First a trial run shows what every line would do. Nothing is written before you go ahead."
    submit = "Make the trial run"
    done = ""

    def serve(self, typed: dict[str, Any]) -> str:
        upload = typed["file"]
        trial = stage(user=self.person, kind=typed["kind"], name=upload.name, content=upload.read())
        return reverse("fleet:import_report", args=[trial.key])

    def get_context_data(self, **context: Any) -> dict[str, Any]:
        return super().get_context_data(**context) | {"formats": FORMATS}

    def back(self) -> str:
        return reverse("fleet:register")


class TrialRun(ManagerView, View):
    """What every line would do, or did; and the word to go ahead."""

    def get(self, request: PersonRequest, key: uuid.UUID) -> HttpResponse:
        return self.show(request, key)

    def post(self, request: PersonRequest, key: uuid.UUID) -> HttpResponse:
        waiting = staged(request.user, key)
        if not waiting.applied_at and len(waiting.verdicts) > LINES_AT_ONCE:
            return redirect("jobs:job", go_ahead_later(user=request.user, waiting=waiting).pk)
        try:
            go_ahead(user=request.user, key=key)
        except FleetError as refusal:
            messages.error(request, refusal.sentence)
            return self.show(request, key, status=refusal.status)
        messages.success(request, "The file is in the register.")
        return redirect("fleet:import_report", key)

    def show(self, request: PersonRequest, key: uuid.UUID, status: int = 200) -> HttpResponse:
        trial = staged(request.user, key)
        default = "refused" if trial.tally["refused"] else ""
        shown = request.GET.get("show", default)
        lines = [line for line in trial.verdicts if line.verdict == shown] if shown in trial.tally else trial.verdicts
        context = {
            "trial": trial,
            "label": format_named(trial.kind).label,
            "shown": shown,
            "page": Paginator(lines, LINES_A_PAGE).get_page(request.GET.get("page")),
            "total": len(trial.verdicts),
            "would_write": trial.tally["new"] + trial.tally["change"],
        }
        return render(request, "fleet/import/trial.html", context, status=status)


class RefusedLines(ManagerView, View):
    """The refused lines as a file."""

    def get(self, request: PersonRequest, key: uuid.UUID) -> StreamingHttpResponse:
        return csv_answer("refused-lines.csv", csv_lines(COLUMNS, refused_rows(staged(request.user, key))))


class EmptyFile(ManagerView, View):
    """A file with the columns of a kind, to be filled in."""

    def get(self, request: PersonRequest, kind: str) -> StreamingHttpResponse:
        try:
            columns = format_named(kind).columns
        except FleetError as unknown:
            raise Http404(unknown.sentence) from unknown
        return csv_answer(f"{kind}.csv", csv_lines([column.name for column in columns], ()))
