"""The guides: one page for each kind of work, what is done on a day, a week and a month, and what to do if it fails."""

from dataclasses import dataclass

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.views import View

from checks.tablet.cautions import BEFORE_TURNING, all_cautions
from fleet.web.access import PersonRequest, ViewerView


@dataclass(frozen=True, slots=True)
class Guide:
    """A page of the guides; ``template`` is named after its key."""

    key: str
    title: str
    says: str

    @property
    def template(self) -> str:
        return f"reports/guide/{self.key}.html"


GUIDES = (
    Guide("technician", "For technicians", "From the unit in the bay to a signed check, with a tablet or on paper."),
    Guide("manager", "For managers", "Whom to call in and why, each day, week and month; complaints, fuel, registers."),
    Guide(
        "engineer", "For reliability engineers", "The monthly review, drift, life, and studies of how depots measure."
    ),
    Guide(
        "keeper", "For keepers of instruments", "Certificates, what is due, and what follows when one came back wrong."
    ),
)
# What the cautions name where no unit is at hand.
ITS_OWN = "the one in its specification"


class GuidesView(ViewerView, View):
    """All guides."""

    def get(self, request: PersonRequest) -> HttpResponse:
        """Answer with the list."""
        return render(request, "reports/guide/all.html", {"guides": GUIDES})


class GuideView(ViewerView, View):
    """One guide."""

    def get(self, request: PersonRequest, key: str) -> HttpResponse:
        """Answer with the page."""
        guide = next((row for row in GUIDES if row.key == key), None)
        if guide is None:
            raise Http404("There is no such guide. All of them are listed at /guide/.")
        before, electric = (all_cautions(kind, ITS_OWN) for kind in ("pneumatic", "electric"))
        cautions = {
            "before": before,
            "electric": [line for line in electric if line not in before],
            "turning": BEFORE_TURNING,
        }
        return render(request, guide.template, {"guide": guide, "guides": GUIDES, "cautions": cautions})
