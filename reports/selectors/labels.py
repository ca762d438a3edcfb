"""Labels for turbochargers: which may be printed, and what stands on each."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Q, QuerySet

from checks.components.code_mark import CodeMark, code_mark
from checks.selectors.label import label_address
from fleet.models import Depot, Membership, Turbocharger, User
from fleet.selectors.scope import visible_to
from reports.selectors.places import Place, name_of, places_of

A_SHEET = 24
# Twenty sheets: what a printer's tray and a browser's preview take at once.
MOST = 20 * A_SHEET


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """One label. ``place`` tells where to stick it today; it stands beside the label, since turbochargers move."""

    pk: int
    serial: str
    model: str
    depot: str
    place: str
    mark: CodeMark | None = None

    @property
    def size(self) -> str:
        """How large the serial number can be written in its room."""
        return "large" if len(self.serial) <= 8 else "middle" if len(self.serial) <= 11 else "small"


def labels_to_choose(user: User, depot: Depot, text: str) -> list[Label]:
    """Turbochargers of a depot, of which `text` is part of the serial or unit number; two queries."""
    rows = _printable(user).filter(depot=depot)
    if text:
        fitted = Q(
            fitments__removed_on__isnull=True,
            fitments__engine__installations__removed_on__isnull=True,
            fitments__engine__installations__truck__unit_number__icontains=text,
        )
        rows = rows.filter(fitted | Q(serial__icontains=text)).distinct()
    return _labels(rows, with_code=False)


def label_sheets(user: User, *, depot: int | None, units: Sequence[int]) -> list[list[Label]]:
    """Sheets of labels for `units`, or for a whole depot where none are named; two queries. At most ``MOST``."""
    rows = _printable(user)
    rows = rows.filter(pk__in=units) if units else rows.filter(depot=depot)
    labels = _labels(rows, with_code=True)
    return [labels[at : at + A_SHEET] for at in range(0, len(labels), A_SHEET)]


def _printable(user: User) -> QuerySet[Turbocharger]:
    rows = Turbocharger.objects.filter(scrapped_on__isnull=True).select_related("model", "depot")
    return visible_to(user, rows, role=Membership.Role.MANAGER)


def _labels(rows: QuerySet[Turbocharger], *, with_code: bool) -> list[Label]:
    """Labels in the order in which one walks along the trucks; those in no truck last."""
    found = list(rows.order_by("serial")[:MOST])
    places = places_of(row.pk for row in found)
    labels = [
        Label(
            pk=row.pk,
            serial=row.serial,
            model=row.model.name,
            depot=row.depot.name,
            place=_place(places.get(row.pk)),
            mark=code_mark(label_address(row)) if with_code else None,
        )
        for row in found
    ]
    return sorted(labels, key=lambda label: (not label.place, label.place, label.serial))


def _place(place: Place | None) -> str:
    return name_of(place, "", side=True) if place and place.unit_number else ""
