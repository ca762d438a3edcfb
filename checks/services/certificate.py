"""Writing calibration certificates: add with their points, and mark one that was entered in error."""

from collections.abc import Sequence
from datetime import timedelta
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils import timezone

from checks.measurement import units
from checks.models import Certificate, CertificatePoint, Instrument
from checks.services.entry import Doubts, Entry, Reader, keep
from checks.services.instrument import latest_due_day
from checks.services.recall import follow_certificates, open_recall
from checks.services.recall_work import withdraw_recall
from checks.services.scales import point_units
from fleet.models import Membership, User
from fleet.problems import FleetError, FleetErrors
from fleet.selectors import scope

PLACES = {"certificate_number_once": "number", "certificate_due_after_issue": "due_on"}
POINTS_MOST = 60
POINT_TEXTS = ("indication", "error", "reference", "expanded_uncertainty")
AS_FOUND, AS_LEFT = CertificatePoint.Moment.AS_FOUND, CertificatePoint.Moment.AS_LEFT
MOMENTS = dict(CertificatePoint.Moment.choices)
GIVEN = {"error": "error (indication - reference)", "reference": "reference value"}


@transaction.atomic
def add_certificate(*, author: User, instrument: Instrument, entry: Entry) -> Certificate:
    """Record a certificate of `instrument`.

    ``points`` is a list of ``{moment, indication, error or reference, expanded_uncertainty, coverage_factor}``, all
    texts in the one ``unit``; ``given`` says whether each point names its error or its reference value;
    ``not_adjusted`` lets the as-found points stand for as-left too.
    Raises FleetErrors with fields such as ``points.3.indication``, or Doubts until ``confirmed``.
    """
    scope.require(author, Membership.Role.MANAGER, instrument.depot)
    reader = Reader(entry)
    row = _document(reader, instrument)
    points, faults = _points(entry, instrument)
    _settle_as_left(reader, points)
    if reader.faults or faults:
        raise FleetErrors([*reader.faults, *faults])
    keep(row, author=author, places=PLACES)
    for point in points:
        point.certificate = row
    CertificatePoint.objects.bulk_create(points)
    if not entry.get("confirmed") and (doubts := _doubts(row, instrument, points)):
        raise Doubts(doubts)
    open_recall(certificate=row, author=author)
    follow_certificates(instrument=instrument, author=author)
    return row


@transaction.atomic
def supersede_certificate(*, author: User, certificate: Certificate, entry: Entry) -> Certificate:
    """Mark a certificate as entered in error, with a ``reason``: it stays readable and counts no more."""
    scope.require(author, Membership.Role.MANAGER, certificate.instrument.depot)
    row = Certificate.objects.select_for_update().get(pk=certificate.pk)
    reader = Reader(entry)
    reason = reader.text("reason", "The reason", longest=200, required=True)
    reader.refuse_faults()
    if row.superseded_reason:
        raise FleetError("already_superseded", "reason", f"Certificate {row.number} is marked already.", status=409)
    row.superseded_reason = reason
    keep(row, author=author, places=PLACES, reason=reason)
    withdraw_recall(author=author, certificate=row, reason=reason)
    follow_certificates(instrument=row.instrument, author=author)
    return row


def _document(reader: Reader, instrument: Instrument) -> Certificate:
    values: dict[str, Any] = {
        "number": reader.text("number", "The certificate's number", longest=60, required=True),
        "laboratory": reader.text("laboratory", "The laboratory", longest=120),
        "issued_on": reader.day("issued_on", "The day of issue", latest=timezone.localdate()),
        "due_on": reader.day("due_on", "The due date", latest=latest_due_day()),
        "note": reader.text("note", "The note", longest=4000),
    }
    return Certificate(instrument=instrument, **values)


def _points(entry: Entry, instrument: Instrument) -> tuple[list[CertificatePoint], list[FleetError]]:
    given = entry.get("points") or []
    if not isinstance(given, Sequence) or isinstance(given, str) or not all(isinstance(row, dict) for row in given):
        return [], [FleetError("points_malformed", "points", "The points must be a list, one entry for each point.")]
    if len(given) > POINTS_MOST:
        return [], [FleetError("too_many_points", "points", f"Enter at most {POINTS_MOST} points.")]
    points, faults = [], []
    seen: set[tuple[str, float]] = set()
    for i, texts in enumerate(given):
        if not any(str(texts.get(name) or "").strip() for name in POINT_TEXTS):
            continue
        reader = Reader(texts, prefix=f"points.{i}.")
        point = _point(reader, instrument, str(entry.get("unit") or ""), str(entry.get("given") or "error"))
        if not reader.faults and (point.moment, point.indication) in seen:
            reader.fault("indication", "one_point_per_indication", "Another point has this indication. Enter it once.")
        seen.add((point.moment, point.indication))
        points.append(point)
        faults += reader.faults
    return points, faults


def _point(reader: Reader, instrument: Instrument, unit: str, given: str) -> CertificatePoint:
    known = point_units(instrument.kind, instrument.electrical_unit)
    unit = unit or known[0]
    reader.entry = {**reader.entry, **{name: [reader.entry.get(name), unit] for name in POINT_TEXTS}}
    low, high = _reach(instrument)
    indication = reader.quantity("indication", "The indication", known, low=low, high=high)
    error = _error(reader, known, unit, given, 0.5 * (high - low))
    uncertainty = reader.quantity(
        "expanded_uncertainty", "The expanded uncertainty", known, low=0, high=0.5 * (high - low)
    )
    reader.entry = {**reader.entry, "coverage_factor": [reader.entry.get("coverage_factor") or "2", "1"]}
    factor = reader.quantity("coverage_factor", "The coverage factor k", ("1",), low=1, high=4, own={"1": float})
    values: dict[str, Any] = {
        "moment": reader.choice("moment", "As found or as left", MOMENTS),
        "indication": indication,
        "error": error,
        "expanded_uncertainty": uncertainty,
        "coverage_factor": factor,
        "typed": {name: typed for name, typed in reader.typed.items() if name != "coverage_factor"},
    }
    return CertificatePoint(**values)


def _error(reader: Reader, known: tuple[str, ...], unit: str, given: str, most: float) -> float | None:
    """The error as typed, or the indication less the reference value, exact in the decimals that were typed."""
    if given != "reference":
        return reader.quantity("error", "The error", known, low=-most, high=most)
    faults = len(reader.faults)
    reference = reader.quantity("reference", "The reference value", known, low=-1e7, high=1e7)
    if reference is None or len(reader.faults) > faults or "indication" not in reader.typed:
        return None
    texts = (reader.typed["indication"][0], reader.typed["reference"][0])
    indicated, referred = (Decimal(repr(units.parse_decimal(text))) for text in texts)
    error = units.convert(float(indicated - referred), unit, known[0])
    if abs(error) > most:
        reader.fault("reference", "out_of_bounds", "The reference value is too far from the indication to be right.")
    return error


def _reach(instrument: Instrument) -> tuple[float, float]:
    """The instrument's range and a tenth of it to either side, within which points may lie."""
    if instrument.range_low is None or instrument.range_high is None:
        return -1e6, 1e6
    more = 0.1 * (instrument.range_high - instrument.range_low)
    return instrument.range_low - more, instrument.range_high + more


def _settle_as_left(reader: Reader, points: list[CertificatePoint]) -> None:
    """Where nothing was adjusted the as-found points are the as-left ones, and are kept as such."""
    found = [point for point in points if point.moment == AS_FOUND]
    left = [point for point in points if point.moment == AS_LEFT]
    unadjusted = bool(reader.entry.get("not_adjusted"))
    if unadjusted and left:
        reader.fault("not_adjusted", "adjusted_or_not", "There are as-left points, so it was adjusted. Untick this.")
    elif unadjusted:
        copied = ("indication", "error", "expanded_uncertainty", "coverage_factor", "typed")
        points += [
            CertificatePoint(moment=AS_LEFT, **{name: getattr(point, name) for name in copied}) for point in found
        ]
    elif found and not left:
        reader.fault(
            "not_adjusted", "as_left_missing", "Enter the as-left points too, or say that it was not adjusted."
        )


def _doubts(row: Certificate, instrument: Instrument, points: list[CertificatePoint]) -> list[FleetError]:
    doubts = []
    if not points and instrument.kind != Instrument.Kind.REGULATOR:
        sentence = "The certificate has no points. Then readings are not corrected and the permissible error counts."
        doubts.append(FleetError("no_points", "points", sentence))
    if row.due_on - row.issued_on > timedelta(days=3 * 366):
        doubts.append(
            FleetError("long_interval", "due_on", f"{row.due_on:%-d %b %Y} is more than three years after the issue.")
        )
    limit = instrument.permissible_error or 0.0
    wild = [p for p in points if limit and abs(p.error) > 10 * (limit + instrument.error_share * abs(p.indication))]
    if wild:
        sentence = f"At {wild[0].indication:g} the error is over ten times the permissible one. Is the column right?"
        doubts.append(FleetError("wild_error", "points", sentence))
    return doubts
