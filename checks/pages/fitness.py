"""The page that tells, before a check, whether a set of instruments can prove a window."""

from typing import Any

from django.db.models import Prefetch
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views import View

from checks.models import Certificate, Instrument, SpecificationRevision
from checks.models.instrument_parts import POSITION, PRESSURE
from checks.pages.fitness_answer import answer_of
from checks.selectors.instrument import instruments_of
from checks.selectors.specification import model_rows
from fleet.web.access import PersonRequest, ViewerView

Kind = Instrument.Kind


class FitnessPage(ViewerView, View):
    """Choose a specification and a set; with htmx only the answer is drawn again."""

    def get(self, request: PersonRequest) -> HttpResponse:
        """Show the choice and, once all is chosen, the answer."""
        today = timezone.localdate()
        certificates = Prefetch("certificates", queryset=Certificate.objects.prefetch_related("points"))
        tools = list(instruments_of(request.user).filter(withdrawn_on__isnull=True).prefetch_related(certificates))
        revisions = [row.in_force for row in model_rows(request.user, on=today) if row.in_force]
        chosen = _chosen(request, revisions, tools)
        context = {
            "revisions": revisions,
            "dials": [tool for tool in tools if tool.kind == Kind.DIAL],
            "stimuli": [tool for tool in tools if tool.kind in {*PRESSURE, *POSITION}],
            "meters": [tool for tool in tools if tool.kind == Kind.MULTIMETER],
            "chosen": chosen,
            "answer": answer_of(chosen, request.user),
        }
        part = "checks/parts/fitness_answer.html" if request.htmx else "checks/instrument_fitness.html"
        return render(request, part, context)


def _chosen(request: PersonRequest, revisions: list[SpecificationRevision], tools: list[Instrument]) -> dict[str, Any]:
    def pick(name: str, rows: list[Any]) -> Any:
        return next((row for row in rows if str(row.pk) == request.GET.get(name, "")), None)

    return {
        "specification": pick("specification", revisions),
        "dial": pick("dial", tools),
        "stimulus": pick("stimulus", tools),
        "meter": pick("meter", tools),
    }
