"""Recalls of instruments: opened by a bad certificate, and their checks judged again. Nothing is overwritten."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from django.db import transaction
from django.utils import timezone

from checks.convert import CODE_VERSION, certificate_on, result_to_json, to_points
from checks.measurement import calibration
from checks.models import Assessment, Certificate, CertificatePoint, Instrument, Recall, RecalledStroke, RecallEntry
from checks.rules.recall import grown_share, with_error_found, worst_of
from checks.selectors.assessment import strokes_to_judge
from checks.selectors.instrument import permissible_at
from checks.selectors.recalled import Use, unjudged
from checks.services.assessment import measure
from checks.services.plan import replan
from fleet.jobs.requests import enqueue
from fleet.models import Turbocharger, User

KIND = "recall"
TOGETHER = 200
BY_CERTIFICATE = "Certificate {} found it beyond its permissible error."


@transaction.atomic
def open_recall(*, certificate: Certificate, author: User | None = None) -> Recall | None:
    """Open a recall where the as-found errors of ``certificate`` exceed the permissible one; asked twice, it is one.

    The checks are judged by a job. Returns None where nothing is wrong.
    """
    if known := Recall.objects.filter(found=certificate).first():
        return known
    instrument, found = certificate.instrument, found_points(certificate)
    limits = [permissible_at(instrument, point.indication) or 0.0 for point in found]
    worst = None if certificate.superseded_reason else worst_of(found, limits)
    if worst is None:
        return None
    recall = Recall.objects.create(
        instrument=instrument,
        found=certificate,
        since=_good_day(certificate),
        worst_indication=worst.indication,
        worst_error=worst.error,
        worst_permissible=permissible_at(instrument, worst.indication) or 0.0,
    )
    note(recall, RecallEntry.What.OPENED, BY_CERTIFICATE.format(certificate.number), author)
    request_judging(recall=recall, author=author)
    return recall


@transaction.atomic
def follow_certificates(*, instrument: Instrument, author: User) -> None:
    """Count open recalls of ``instrument`` from the good certificate that now lies before the bad one.

    One that was entered late, or marked as in error, changes which that is: the checks are then judged anew.
    """
    for recall in Recall.objects.select_for_update().filter(instrument=instrument, closed_at__isnull=True):
        since = _good_day(recall.found)
        if since == recall.since:
            continue
        units = units_of(recall)
        recall.since, recall.judged_at = since, None
        recall.manner, recall.went_wrong_on = Recall.Manner.UNKNOWN, None
        recall.save(update_fields=["since", "judged_at", "manner", "went_wrong_on"])
        recall.strokes.all().delete()
        told = f"It now counts from {since:%-d %b %Y}" if since else "No good certificate lies before it any more"
        note(recall, RecallEntry.What.MOVED, f"{told}; its checks are judged anew.", author)
        replan(units)
        request_judging(recall=recall, author=author)


def _good_day(certificate: Certificate) -> date | None:
    """The day of issue of the certificate on which checks before ``certificate`` relied."""
    earlier = certificate.instrument.certificates.filter(issued_on__lt=certificate.issued_on)
    before = certificate_on(earlier, certificate.issued_on)
    return before.issued_on if before else None


def open_missing() -> int:
    """Open a recall for every bad certificate that is on record without one; returns how many are new."""
    rows = Certificate.objects.filter(superseded_reason="", recall__isnull=True, points__moment="as_found").distinct()
    found = (open_recall(certificate=row) for row in rows.select_related("instrument").order_by("issued_on", "pk"))
    return sum(recall is not None for recall in found)


def request_judging(*, recall: Recall, author: User | None = None) -> None:
    """Have the checks of a recall judged again, as a job; asked twice, it is one job."""
    enqueue(kind=KIND, arguments={"recall": recall.pk}, key=f"recall {recall.pk}", requested_by=author)


def judge_stale() -> None:
    """Have judged what became known since: checks signed on a tablet, amended, or judged by another revision."""
    for recall in Recall.objects.filter(closed_at__isnull=True).select_related("found"):
        if unjudged(recall)[0]:
            request_judging(recall=recall)


def judge_all() -> int:
    """Judge what waits in every open recall, now; returns how many checks."""
    done = 0
    for recall in Recall.objects.filter(closed_at__isnull=True).select_related("found", "instrument"):
        waiting = unjudged(recall)[0]
        for start in range(0, len(waiting), TOGETHER):
            judge_uses(recall=recall, uses=waiting[start : start + TOGETHER])
        mark_judged(recall=recall)
        done += len(waiting)
    return done


@transaction.atomic
def judge_uses(*, recall: Recall, uses: Sequence[Use]) -> int:
    """Judge checks twice more, with the whole error found and with the error grown in time; returns how many strokes.

    The verdicts are stored beside the original, which stays the one that counts.
    """
    known = {use.check: use for use in uses}
    found, meant, cases = found_points(recall.found), [], []
    for one in strokes_to_judge(list(known)):
        use = known[one.check.pk]
        share = grown_share(recall.since, recall.found.issued_on, use.on)
        meant.append((one.stroke_id, use, share))
        for part in (1.0, share):
            tools = with_error_found(one.case.instruments, use.part, found, part)
            cases.append(replace(one.case, instruments=tools))
    results = measure(cases)
    originals = {
        row.stroke_id: row
        for row in Assessment.objects.filter(stroke__in=[stroke for stroke, _, _ in meant], is_current=True)
    }
    rows = [
        RecalledStroke(
            recall=recall,
            original=originals[stroke],
            part=use.part,
            made_on=use.on,
            share=share,
            full_state=full.state,
            full_travel_mm=full.travel_mm,
            grown_state=grown.state,
            grown_travel_mm=grown.travel_mm,
            full=result_to_json(full),
            grown=result_to_json(grown),
            code_version=CODE_VERSION,
        )
        for (stroke, use, share), full, grown in zip(meant, results[::2], results[1::2], strict=True)
        if stroke in originals
    ]
    RecalledStroke.objects.bulk_create(rows, ignore_conflicts=True)
    return len(rows)


def mark_judged(*, recall: Recall) -> None:
    """Every check of the recall has its verdicts; plan its units."""
    Recall.objects.filter(pk=recall.pk).update(judged_at=timezone.now())
    replan(units_of(recall))


def found_points(certificate: Certificate) -> tuple[calibration.CertificatePoint, ...]:
    """As-found points in rising order, as the core reads them."""
    return to_points(certificate.points.filter(moment=CertificatePoint.Moment.AS_FOUND))


def units_of(recall: Recall) -> list[int]:
    """Turbochargers of the recall's checks."""
    rows = RecalledStroke.objects.filter(recall=recall)
    return sorted(set(rows.values_list("original__stroke__check_made__turbocharger", flat=True)))


def note(
    recall: Recall, what: str, reason: str, author: User | None, turbocharger: Turbocharger | None = None
) -> RecallEntry:
    """Add a line to the trail."""
    return RecallEntry.objects.create(recall=recall, what=what, reason=reason, author=author, turbocharger=turbocharger)
