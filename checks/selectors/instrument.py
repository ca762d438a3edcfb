"""The register of instruments as a person of a depot sees it."""

from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Count, Max, Prefetch, Q, QuerySet

from checks.convert import certificate_on
from checks.models import Certificate, CertificatePoint, Check, Instrument
from fleet.models import Membership, User
from fleet.selectors import scope

DUE_SOON = timedelta(days=30)
# What an instrument's calibration is like on a day, worst first.
STATES = {
    "out_of_date": "out of date",
    "no_certificate": "no certificate",
    "due_soon": "due soon",
    "in_date": "in date",
    "none_needed": "needs none",
    "withdrawn": "withdrawn",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class InstrumentRow:
    """An instrument with the certificate that counts and what that means on the day asked for."""

    instrument: Instrument
    state: str
    certificate: Certificate | None

    @property
    def word(self) -> str:
        return STATES[self.state]

    @property
    def due_on(self) -> date | None:
        return self.certificate.due_on if self.certificate else None


def instruments_of(user: User, *, role: str = Membership.Role.VIEWER) -> QuerySet[Instrument]:
    """Instruments of the depots where `user` holds at least `role`."""
    return scope.visible_to(user, Instrument.objects.select_related("depot"), role=role)


def instrument_rows(
    user: User, *, on: date, depot: int | None = None, kind: str = "", withdrawn: bool = False, find: str = ""
) -> list[InstrumentRow]:
    """Instruments that `user` may see, those that need a calibration first; two queries.

    `find` looks in labels and descriptions; withdrawn ones come last and only when asked for.
    """
    rows = instruments_of(user)
    if depot is not None:
        rows = rows.filter(depot=depot)
    if kind:
        rows = rows.filter(kind=kind)
    if not withdrawn:
        rows = rows.filter(withdrawn_on__isnull=True)
    if find:
        rows = rows.filter(Q(label__icontains=find) | Q(description__icontains=find))
    valid = Certificate.objects.filter(superseded_reason="", issued_on__lte=on)
    found = [row_of(row, on) for row in rows.prefetch_related(Prefetch("certificates", queryset=valid))]
    order = list(STATES)
    return sorted(found, key=lambda row: (order.index(row.state), row.due_on or on, row.instrument.label))


def row_of(instrument: Instrument, on: date) -> InstrumentRow:
    """One instrument on a day; reads its ``certificates``: prefetch them."""
    counts = certificate_on(instrument.certificates.all(), on)
    return InstrumentRow(instrument=instrument, state=_state(instrument, counts, on), certificate=counts)


def _state(instrument: Instrument, certificate: Certificate | None, on: date) -> str:
    if instrument.withdrawn_on is not None:
        return "withdrawn"
    if certificate is None:
        return "none_needed" if instrument.kind == Instrument.Kind.REGULATOR else "no_certificate"
    if certificate.due_on < on:
        return "out_of_date"
    return "due_soon" if certificate.due_on <= on + DUE_SOON else "in_date"


@dataclass(frozen=True, slots=True, kw_only=True)
class CertificateRow:
    """A certificate with its points, and what it means for the checks made since the one before it.

    ``worst_share``: the largest as-found error over the permissible one, None where nothing was found.
    """

    certificate: Certificate
    found: tuple[CertificatePoint, ...]
    left: tuple[CertificatePoint, ...]
    worst_share: float | None
    checks_since_previous: int
    previous: Certificate | None

    @property
    def out_of_tolerance(self) -> bool:
        return self.worst_share is not None and self.worst_share > 1 and not self.certificate.superseded_reason


def permissible_at(instrument: Instrument, indication: float) -> float | None:
    """The permissible error at an indication, in the instrument's quantity."""
    if instrument.permissible_error is None:
        return None
    return instrument.permissible_error + instrument.error_share * abs(indication)


def certificate_rows(instrument: Instrument) -> list[CertificateRow]:
    """All certificates of an instrument, newest first; three queries."""
    found = instrument.certificates.select_related("recall").prefetch_related("points")
    rows = list(found.order_by("-issued_on", "-id"))
    before = {row.pk: _previous(rows, i) for i, row in enumerate(rows)}
    counts = _checks_between(instrument, rows, before)
    return [_certificate_row(instrument, row, before[row.pk], counts[row.pk]) for row in rows]


def _previous(rows: list[Certificate], i: int) -> Certificate | None:
    return next((row for row in rows[i + 1 :] if not row.superseded_reason), None)


def _certificate_row(
    instrument: Instrument, row: Certificate, previous: Certificate | None, checks: int
) -> CertificateRow:
    points = sorted(row.points.all(), key=lambda point: point.indication)
    found = tuple(point for point in points if point.moment == CertificatePoint.Moment.AS_FOUND)
    shares = [abs(point.error) / limit for point in found if (limit := permissible_at(instrument, point.indication))]
    return CertificateRow(
        certificate=row,
        found=found,
        left=tuple(point for point in points if point.moment == CertificatePoint.Moment.AS_LEFT),
        # Unit conversions leave the last digits of a double behind; an error equal to the limit is within it.
        worst_share=round(max(shares), 9) if shares else None,
        checks_since_previous=checks,
        previous=previous,
    )


def checks_with(instrument: Instrument) -> QuerySet[Check]:
    """Checks made with an instrument in any of its parts."""
    return Check.objects.filter(
        Q(dial=instrument) | Q(stimulus_instrument=instrument) | Q(meter=instrument) | Q(regulator=instrument)
    )


def _checks_between(
    instrument: Instrument, rows: list[Certificate], before: dict[int, Certificate | None]
) -> dict[int, int]:
    if not rows:
        return {}
    counts = {}
    for row in rows:
        earlier = before[row.pk]
        since = Q(made_at__date__lt=row.issued_on)
        if earlier is not None:
            since &= Q(made_at__date__gte=earlier.issued_on)
        counts[f"since_{row.pk}"] = Count("pk", filter=since)
    found = checks_with(instrument).aggregate(**counts)
    return {row.pk: found[f"since_{row.pk}"] for row in rows}


@dataclass(frozen=True, slots=True)
class Use:
    """How often an instrument was used, and when last."""

    checks: int
    last_on: date | None


def use_of(instrument: Instrument) -> Use:
    """One query."""
    found = checks_with(instrument).aggregate(count=Count("pk"), last=Max("made_at"))
    return Use(found["count"], found["last"].date() if found["last"] else None)
