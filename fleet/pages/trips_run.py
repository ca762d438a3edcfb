"""A file of trips on its way in: its trial run, the word to bring it in, and what became of its lines."""

import uuid

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views import View

from fleet.imports.trips.progress import progress_of
from fleet.imports.trips.sending import ask, cancel_import
from fleet.models import User
from fleet.pages.trips_words import sentence_of
from fleet.problems import FleetError
from fleet.selectors.trips import trip_import
from fleet.web.access import ManagerView, PersonRequest


class TripRun(ManagerView, View):
    """How far it is and what is to be decided; the changing part asks for itself again while the job is open."""

    template = "fleet/trips/run.html"

    def get(self, request: PersonRequest, key: uuid.UUID) -> HttpResponse:
        found = progress_of(request.user, key)
        if found.job is None and not found.is_batch:
            return redirect("fleet:trip_reading", key)
        return render(request, self.template, {"run": found, "sentence": sentence_of(found)})

    def post(self, request: PersonRequest, key: uuid.UUID) -> HttpResponse:
        """Do what was asked: bring in or go on with it, try again, or stop."""
        act = request.POST.get("act", "")
        trip_import(request.user, key)
        if act == "stop":
            cancel_import(user=request.user, key=key)
        elif act in {"bring", "try"}:
            _ask(request.user, key, trial=act == "try")
        else:
            raise FleetError("act_unknown", "act", "This page can try a file, bring it in, or stop. Reload it.")
        return redirect("fleet:trip_run", key)


class TripProgress(TripRun):
    """The part of the page that changes."""

    template = "fleet/trips/progress.html"
    http_method_names = ["get", "head"]


def _ask(user: User, key: uuid.UUID, *, trial: bool) -> None:
    try:
        ask(user=user, key=key, trial=trial)
    except FleetError as refusal:
        # A second tap finds it begun, which is what was wanted.
        if refusal.code != "trip_import_begun" or trial:
            raise
