"""The way from an empty installation to the first check, and on from there."""

from dataclasses import dataclass

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views import View

from fleet.web.access import MANAGER, ManagerView, PersonRequest
from reports.selectors.first_steps import FirstSteps, first_steps
from reports.words.grammar import capital, count_of, listing

Link = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Step:
    """One step: what is there already, what is needed and why, and the way to it, the first being the next to go."""

    title: str
    done: bool
    told: str
    why: str
    links: tuple[Link, ...]


class FirstStepsView(ManagerView, View):
    """For whoever sets a fleet up; it stays open afterwards."""

    role = MANAGER

    def get(self, request: PersonRequest) -> HttpResponse:
        """Answer with the page."""
        steps = steps_of(first_steps(request.user))
        following = next((step for step in steps if not step.done), None)
        return render(request, "reports/first_steps.html", {"steps": steps, "following": following})


def steps_of(found: FirstSteps) -> list[Step]:
    """The steps in the order of the work."""
    return [_depot(found), _specification(found), _instruments(found), _units(found), _check(found)]


def _depot(found: FirstSteps) -> Step:
    return Step(
        "Depots and people",
        found.depots > 0,
        capital(listing([count_of(found.depots, "depot"), count_of(found.people, "person", "people")])) + ".",
        "Technicians record checks, managers plan and answer for them, viewers read.",
        (("Add a colleague", reverse("fleet:person_add")), ("Add a depot", reverse("fleet:depot_add"))),
    )


def _specification(found: FirstSteps) -> Step:
    if found.model is not None:
        first = ("Enter the specification", reverse("checks:specification_add", args=[found.model]))
    else:
        first = ("Name a turbocharger model", reverse("fleet:model_add"))
    told = [count_of(found.models, "turbocharger model"), count_of(found.specifications, "specification") + " in force"]
    return Step(
        "A specification",
        found.specifications > 0,
        capital(listing(told)) + ".",
        "From the manufacturer's current service information: the setting pressure, the travel and its limits, the "
        "canister's maximum. Limits that contradict one another are refused with the reason.",
        (first, ("All specifications", reverse("checks:specifications"))),
    )


def _instruments(found: FirstSteps) -> Step:
    told = f"{capital(count_of(found.dials, 'dial indicator'))} and {count_of(found.stimuli, 'pressure instrument')} "
    told += "with a certificate in force."
    if found.unfit:
        told += f" {capital(count_of(found.unfit, 'instrument'))} without one."
    if found.uncertified is not None:
        certify = ("Enter its certificate", reverse("checks:certificate_add", args=[found.uncertified]))
        links = (certify, ("Add another instrument", reverse("checks:instrument_add")))
    else:
        links = (
            ("Add an instrument", reverse("checks:instrument_add")),
            ("All instruments", reverse("checks:instruments")),
        )
    return Step(
        "Instruments with certificates",
        found.dials > 0 and found.stimuli > 0,
        told,
        "One for travel and one for pressure. A reading counts only with a certificate that covers its day, since its "
        "uncertainty comes from there.",
        links,
    )


def _units(found: FirstSteps) -> Step:
    return Step(
        "Trucks, engines and turbochargers",
        found.fitted > 0,
        f"{capital(count_of(found.trucks, 'truck'))}, {count_of(found.fitted, 'fitted turbocharger')}.",
        "From one CSV file, a line for each fitted turbocharger. A trial run shows every line that is refused and why, "
        "before anything is written.",
        (("Bring in a file", reverse("fleet:import")), ("Enter a truck by hand", reverse("fleet:truck_add"))),
    )


def _check(found: FirstSteps) -> Step:
    return Step(
        "The first check",
        found.checks > 0,
        f"{capital(count_of(found.checks, 'check'))}.",
        "Here in the browser, or on a tablet that goes on without a network.",
        (("Start a check", reverse("checks:find")), ("Open the tablet's app", reverse("checks:tablet"))),
    )
