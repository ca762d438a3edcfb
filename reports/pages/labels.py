"""Labels to stick beside turbochargers, so that a camera finds the unit."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views import View

from fleet.web.access import MANAGER, ManagerView, PersonRequest
from fleet.web.query import number_in, numbers_in
from reports.selectors.depots import depots_by_name
from reports.selectors.labels import MOST, label_sheets, labels_to_choose


class LabelsView(ManagerView, View):
    """Choose whose labels are printed."""

    def get(self, request: PersonRequest) -> HttpResponse:
        """Answer with the turbochargers of a depot; ``depot`` and ``q`` in the address narrow them."""
        depots = depots_by_name(request.user, role=MANAGER)
        wanted = request.GET.get("depot", "")
        depot = next((row for row in depots if str(row.pk) == wanted), depots[0] if depots else None)
        text = request.GET.get("q", "").strip()[:60]
        context = {
            "depots": depots,
            "depot": depot,
            "q": text,
            "labels": labels_to_choose(request.user, depot, text) if depot else [],
            "most": MOST,
        }
        return render(request, "reports/labels.html", context)


class LabelSheetView(ManagerView, View):
    """The sheets of labels, made to be printed."""

    costly = ("GET",)

    def get(self, request: PersonRequest) -> HttpResponse:
        """Answer with the sheets of the units named in the address, or of its whole depot."""
        units = numbers_in(request.GET.getlist("unit"))[:MOST]
        depot = number_in(request.GET.get("depot", ""))
        sheets = label_sheets(request.user, depot=depot, units=units)
        return render(request, "reports/label_sheet.html", {"sheets": sheets, "depot": depot})
