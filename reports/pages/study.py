"""A measurement study: its analysis, the sheet of its order to print, and its files."""

from typing import Any

from django.http import Http404, HttpResponse, StreamingHttpResponse
from django.shortcuts import get_object_or_404, render
from django.views import View

from checks.display import lengths_text
from checks.models import Study, StudyAmendment
from checks.pages.study_depots import round_words
from checks.selectors.study import Told, row_of, studies_visible, told_of
from checks.selectors.study_depots import round_of
from checks.tablet.cautions import all_cautions
from fleet.models import Membership, User
from fleet.selectors import scope
from fleet.web.access import PersonRequest, ViewerView
from fleet.web.files import csv_answer
from reports.charts.studies import means_figure, ranges_figure
from reports.pages.study_files import file_of
from reports.pages.study_tables import anova_rows, component_rows, technician_rows
from reports.selectors.specification import facts_of
from reports.sentences.study import more_sentences, pooled_sentence, study_sentence

Role = Membership.Role


class StudyView(ViewerView, View):
    """What a study found, and how far it is."""

    def get(self, request: PersonRequest, pk: int) -> HttpResponse:
        """Answer with the page."""
        study, user = _study(request, pk), request.user
        row, told = row_of(study), told_of(study)
        context: dict[str, Any] = {
            "study": study,
            "row": row,
            "told": told,
            "sentence": study_sentence(row, told),
            "more": more_sentences(told, user),
            "publications": list(study.publications.all()),
            "manages": scope.holds(user, Role.MANAGER, study.depot),
            "enters": scope.holds(user, Role.TECHNICIAN, study.depot),
            "cells": _cells(told),
            "amendments": StudyAmendment.objects.filter(reading__study=study).select_related(
                "author", "reading__part", "reading__technician"
            ),
            "setting": facts_of(study.specification, user).setting,
            "round": round_words(found, user) if (found := round_of(user, study)) else None,
            **_analysed(told, user),
        }
        return render(request, "reports/study.html", context)


class StudySheetView(ViewerView, View):
    """The order of the readings, to print and to write on."""

    def get(self, request: PersonRequest, pk: int) -> HttpResponse:
        """Answer with the sheet."""
        study, user = _study(request, pk), request.user
        limits, unit = study.specification, study.length_unit
        facts = facts_of(limits, user)
        context = {
            "study": study,
            "readings": study.readings.select_related("part", "technician"),
            "setting": facts.setting,
            "window": lengths_text(limits.lower_mm, limits.upper_mm, unit),
            "maximum": facts.stimulus_max,
            "cautions": all_cautions(limits.turbocharger_model.stimulus, facts.stimulus_max),
        }
        return render(request, "reports/study_sheet.html", context)


class StudyFileView(ViewerView, View):
    """Readings, variance or components as CSV."""

    costly = ("GET",)

    def get(self, request: PersonRequest, pk: int, kind: str) -> StreamingHttpResponse:
        """Answer with the file."""
        study = _study(request, pk)
        lines = file_of(told_of(study), kind)
        if lines is None:
            raise Http404("This study has no such file yet.")
        return csv_answer(f"study-{study.pk}-{kind}.csv", lines)


def _study(request: PersonRequest, pk: int) -> Study:
    return get_object_or_404(studies_visible(request.user), pk=pk)


def _analysed(told: Told, user: User) -> dict[str, Any]:
    study = told.analysis
    if study is None:
        return {}
    names = [person.display_name for person in told.table.technicians]
    parts, unit = [part.name for part in told.table.parts], str(user.length_unit)
    return {
        "analysis": study,
        "anova": anova_rows(study, user),
        "components": component_rows(study, user),
        "technicians": technician_rows(told, user),
        "pooled": pooled_sentence(study),
        "ranges": ranges_figure(study.ranges, study.range_limit, names, parts, unit=unit),
        "means": means_figure(study.cell_means, study.mean_limits, names, parts, unit=unit),
    }


def _cells(told: Told) -> list[tuple[Any, list[list[Any]]]]:
    """Each part with its readings, a list of trials for each technician."""
    found = {(row.part_id, row.technician_id, row.trial): row for row in told.table.readings}
    trials = range(1, told.table.trials + 1)
    return [
        (part, [[found[part.pk, person.pk, trial] for trial in trials] for person in told.table.technicians])
        for part in told.table.parts
    ]
