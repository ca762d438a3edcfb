"""Instruments: what is due for calibration, and what came back beyond its permissible error."""

from collections import Counter
from datetime import date

from django.db.models import Prefetch

from checks.models import Certificate, CertificatePoint, Instrument
from checks.selectors.instrument import permissible_at, row_of
from reports.export.frozen import Column, Table, Value, table
from reports.review.records import Records


def _instruments(records: Records) -> list[Instrument]:
    """Those of the depots reviewed with the certificates issued by the month's end; three queries."""
    valid = Certificate.objects.filter(superseded_reason="", issued_on__lte=records.month.last).order_by(
        "issued_on", "pk"
    )
    rows = Instrument.objects.select_related("depot").order_by("label")
    if records.depot:
        rows = rows.filter(depot=records.depot)
    return list(rows.prefetch_related(Prefetch("certificates", queryset=valid.prefetch_related("points"))))


def due_table(records: Records) -> Table:
    """Every instrument in use with its calibration, the most pressing first."""
    on = records.month.last
    used = Counter(tool for check in records.checks if check.day >= records.month.first for tool in check.instruments)
    order = ("out of date", "no certificate", "due soon", "in date", "needs none")
    rows = []
    for instrument in _instruments(records):
        row = row_of(instrument, on)
        if instrument.withdrawn_on is None or instrument.withdrawn_on > on:
            number = row.certificate.number if row.certificate else ""
            rows.append(
                (instrument.label, instrument.get_kind_display(), instrument.depot.name, row.word, number, row.due_on,
                 used[instrument.pk])
            )  # fmt: skip
    rows.sort(key=lambda cells: (order.index(cells[3]) if cells[3] in order else len(order), cells[5] or on, cells[0]))
    return table(
        "instruments",
        "Instruments and their calibration",
        "Instruments in use at the end of the month, those that need a calibration first.",
        (
            Column("label", "instrument", "The label on it."),
            Column("kind", "kind", "Kind of instrument."),
            Column("depot", "depot", "Depot that keeps it."),
            Column("state", "calibration", "What its certificate says on the last day of the month."),
            Column("certificate", "certificate", "Number of the certificate that counts."),
            Column("due_on", "due", "Day on which it runs out.", "day"),
            Column("checks", "checks this month", "Checks of the month made with it.", "number"),
        ),
        rows,
    )


def found_out_table(records: Records) -> Table:
    """Certificates of the twelve months whose as-found errors passed what is permissible."""
    rows: list[tuple[Value, ...]] = []
    for instrument in _instruments(records):
        before: date | None = None
        for certificate in instrument.certificates.all():
            share = _worst(instrument, certificate)
            if share is not None and share > 1 and certificate.issued_on >= records.month.year_began:
                checks = [
                    check
                    for check in records.checks
                    if instrument.pk in check.instruments
                    and check.day < certificate.issued_on
                    and (before is None or check.day >= before)
                ]
                rows.append(
                    (instrument.label, instrument.get_kind_display(), instrument.depot.name, certificate.number,
                     certificate.issued_on, 100 * share, len(checks), len({check.unit for check in checks}))
                )  # fmt: skip
            before = certificate.issued_on
    return table(
        "instruments_found_out",
        "Instruments found beyond their permissible error",
        "Certificates of the twelve months that end with this one with an as-found error beyond the permissible one.",
        (
            Column("label", "instrument", "The label on it."),
            Column("kind", "kind", "Kind of instrument."),
            Column("depot", "depot", "Depot that keeps it."),
            Column("certificate", "certificate", "Number of the certificate."),
            Column("issued_on", "issued", "Day of issue.", "day"),
            Column("worst_share", "worst error", "Largest as-found error, of the permissible one.", "number", "%", 0),
            Column("checks", "checks since", "Checks made with it since the certificate before.", "number"),
            Column("units", "units", "Units seen by those checks.", "number"),
        ),
        sorted(rows, key=lambda row: str(row[4]), reverse=True),
        note="Verdicts made with such an instrument are to be looked at again before anything is decided on them.",
    )


def _worst(instrument: Instrument, certificate: Certificate) -> float | None:
    found = [point for point in certificate.points.all() if point.moment == CertificatePoint.Moment.AS_FOUND]
    shares = [abs(point.error) / limit for point in found if (limit := permissible_at(instrument, point.indication))]
    # Unit conversions leave the last digits of a double behind; an error equal to the limit is within it.
    return round(max(shares), 9) if shares else None
