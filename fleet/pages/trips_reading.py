"""How a file of trips reads: each column with what it is taken for, changed until the first lines read right."""

import uuid
from dataclasses import replace
from typing import Any

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views import View

from fleet.imports.trips.guessing import guess
from fleet.imports.trips.manner import Manner
from fleet.imports.trips.preview import Preview, preview
from fleet.imports.trips.sending import ask, understand
from fleet.imports.trips.staging import headings_of
from fleet.models import TripImport
from fleet.pages.trips_columns import (
    Choices,
    choices_in,
    choices_of,
    column_rows,
    items,
    manner_from,
    with_times,
)
from fleet.pages.trips_forms import SignsForm
from fleet.problems import FleetError
from fleet.selectors.trips import trip_import
from fleet.web.access import ManagerView, PersonRequest


class TripReading(ManagerView, View):
    """The page; with htmx only the part that changes. ``act`` is 'trial' for the word to go on, else it only looks."""

    def get(self, request: PersonRequest, key: uuid.UUID) -> HttpResponse:
        sent = trip_import(request.user, key)
        if sent.job or sent.outcomes is not None:
            return redirect("fleet:trip_run", key)
        manner = Manner(**sent.manner)
        choices = choices_in(manner, headings_of(key, manner.delimiter))
        return self.show(sent, SignsForm(request.user, initial=sent.manner), manner, choices, "")

    def post(self, request: PersonRequest, key: uuid.UUID) -> HttpResponse:
        sent = trip_import(request.user, key)
        signs = SignsForm(request.user, request.POST)
        if not signs.is_valid():
            kept = Manner(**sent.manner)
            choices = choices_of(request.POST, headings_of(key, kept.delimiter))
            return self.show(
                sent, signs, kept, choices, "Choose separator, decimal sign, times and clock from the lists."
            )
        manner, choices, wrong = _chosen(request, sent, signs.cleaned_data)
        if request.POST.get("act") == "trial" and not wrong:
            try:
                understand(user=request.user, key=key, manner=manner)
                ask(user=request.user, key=key, trial=True)
            except FleetError as refusal:
                if refusal.status in {403, 404, 409}:
                    raise
                wrong = refusal.sentence
            else:
                return redirect("fleet:trip_run", key)
        return self.show(sent, signs, manner, choices, wrong)

    def show(self, sent: TripImport, signs: SignsForm, manner: Manner, choices: Choices, wrong: str) -> HttpResponse:
        """Draw what was chosen, kept or not, and how the first lines read by it."""
        request: Any = self.request
        seen = _seen(request, sent, manner, wrong)
        context = {
            "sent": sent,
            "signs": signs,
            "cut": manner.delimiter,
            "columns": column_rows(seen, choices),
            "items": items(),
            "seen": seen,
            "fine": seen.lines - seen.refused,
            "wrong": seen.wrong,
        }
        return render(request, "fleet/trips/reads.html" if request.htmx else "fleet/trips/reading.html", context)


def _chosen(request: PersonRequest, sent: TripImport, signs: dict[str, Any]) -> tuple[Manner, Choices, str]:
    """The manner chosen, the choices of its columns, and what is wrong with them.

    Under another separator there are other columns, and they are guessed anew.
    """
    delimiter = signs["delimiter"]
    headings = headings_of(sent.key, delimiter)
    if request.POST.get("cut") != delimiter:
        fresh = guess(sent.key, sent.source.manner, delimiter)
        return replace(fresh, **signs), choices_in(fresh, headings), ""
    choices = choices_of(request.POST, headings)
    try:
        return manner_from(signs, headings, choices), choices, ""
    except FleetError as refusal:
        return Manner(**signs), choices, refusal.sentence


def _seen(request: PersonRequest, sent: TripImport, manner: Manner, wrong: str) -> Preview:
    seen = with_times(preview(request.user, sent, manner))
    return replace(seen, wrong=wrong) if wrong else seen
