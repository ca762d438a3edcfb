"""Signing a check: one transaction from what was typed to the verdict, the plan and the flag on the unit."""

from datetime import timedelta
from typing import Any

from django.db import IntegrityError, transaction

from checks.models import Assessment, Check, Draft, Reading, Stroke
from checks.services.assessment import judge_checks
from checks.services.drift_request import request_refit
from checks.services.faults import Faults
from checks.services.meter import check_meters, keep_meters
from checks.services.parties import Parties, find_parties, find_turbocharger
from checks.services.plan import replan
from checks.services.readings import read_stroke, scale_of
from checks.services.safety import raise_safety_flag
from checks.services.submission import Submission, digest_of, read_key, read_submission
from fleet.models import Turbocharger, User
from fleet.problems import FleetError, FleetErrors

MOMENTS = (Stroke.Moment.AS_FOUND, Stroke.Moment.AS_LEFT)


def record_check(
    *, user: User, submission: dict[str, Any], clock_ahead: timedelta = timedelta(), plan: bool = True
) -> Check:
    """Record a signed check with its verdicts, and say when to look again.

    The same key again answers with the same check and changes nothing, so whoever is not sure whether a
    submission arrived sends it again.

    Parameters
    ----------
    submission : the one payload in which a check reaches us, see ``checks/services/submission.py``
    clock_ahead : how far the clock of the device that made it is ahead of ours; times are set right by it
    plan : say when to look again; whoever records many at once plans all units afterwards instead

    Raises
    ------
    FleetErrors
        Every wrong input with its field, such as ``as_found.readings.7.stimulus``.
    FleetError
        ``no_such_turbocharger`` (404), ``not_allowed`` (403), ``key_in_use`` and ``revision_changed`` (409).
    """
    if not isinstance(submission, dict):
        raise FleetErrors([FleetError("not_an_object", "", "Send the check as one JSON object.")])
    key, digest = read_key(submission), digest_of(submission)
    turbocharger = find_turbocharger(user, submission.get("turbocharger"))
    known = _known(user, key, digest)
    if known is not None:
        return known
    sent, parties, strokes = _read(user, turbocharger, submission, clock_ahead)
    try:
        with transaction.atomic():
            check = _write(user, sent, parties, strokes)
            if plan:
                replan([check.turbocharger_id])
            return check
    except IntegrityError:
        # Another tab signed the same draft in the same moment; whoever was second gets the first one's check.
        known = _known(user, key, digest)
        if known is None:
            raise
        return known


def read_all(
    user: User, turbocharger: Turbocharger, raw: dict[str, Any], faults: Faults, clock_ahead: timedelta = timedelta()
) -> tuple[Submission, Parties, dict[str, list[Reading]]] | None:
    """Read a payload whole, or return None with everything that is wrong in ``faults``."""
    sent = read_submission(raw, faults, clock_ahead)
    if sent is None:
        return None
    parties = find_parties(user, turbocharger, sent, faults)
    if parties is None:
        return None
    check_meters(parties, sent, faults)
    scale = scale_of(parties.specification, parties.stimulus, parties.meter)
    strokes = {
        str(moment): read_stroke(raw.get(moment), moment, scale, faults) for moment in MOMENTS if _has(raw, moment)
    }
    return None if faults.errors else (sent, parties, strokes)


def _read(
    user: User, turbocharger: Turbocharger, raw: dict[str, Any], clock_ahead: timedelta
) -> tuple[Submission, Parties, dict[str, list[Reading]]]:
    faults = Faults()
    read = read_all(user, turbocharger, raw, faults, clock_ahead)
    faults.settle()
    if read is None:
        raise RuntimeError("A submission was refused without a reason.")
    return read


def _has(raw: dict[str, Any], moment: str) -> bool:
    return moment == Stroke.Moment.AS_FOUND or raw.get(moment) is not None


def _known(user: User, key: Any, digest: str) -> Check | None:
    """The check already recorded under this key, if it is the same one."""
    check = Check.objects.filter(key=key).first()
    if check is None:
        return None
    if check.digest != digest or check.technician_id != user.pk:
        raise FleetError(
            "key_in_use",
            "key",
            "A check with this key is recorded already, with other content. Amend that one, or begin a new check.",
            status=409,
        )
    return check


def _write(user: User, sent: Submission, parties: Parties, strokes: dict[str, list[Reading]]) -> Check:
    check = Check.objects.create(
        key=sent.key,
        digest=sent.digest,
        turbocharger=parties.turbocharger,
        fitment=parties.fitment,
        depot=parties.turbocharger.depot,
        specification=parties.specification,
        technician=user,
        reason=sent.reason,
        complaint=parties.complaint,
        made_at=sent.made_at,
        made_at_typed=sent.made_at_typed,
        odometer_km=sent.odometer.value if sent.odometer else None,
        odometer_typed=sent.odometer.shown if sent.odometer else "",
        engine_hours=sent.engine_hours.value if sent.engine_hours else None,
        dial=parties.dial,
        stimulus_instrument=parties.stimulus,
        meter=parties.meter,
        regulator=parties.regulator,
        geometry=sent.geometry,
        angle_deg=sent.angle_deg,
        angle_max_deg=sent.angle_max_deg,
        cautions_read_at=sent.cautions_read_at,
        half_turns=sent.half_turns,
        note=sent.note,
        source=sent.source,
    )
    for moment, readings in strokes.items():
        stroke = Stroke.objects.create(check_made=check, moment=moment)
        for reading in readings:
            reading.stroke = stroke
        Reading.objects.bulk_create(readings)
    keep_meters(user, parties, sent)
    verdicts = judge_checks(check_ids=[check.pk], basis="recorded", by=parties.specification)[check.pk]
    _follow(user, check, verdicts)
    return check


def _follow(user: User, check: Check, verdicts: list[Assessment]) -> None:
    """What a verdict brings about: a flag when the stroke was unsafe, a new fit, the end of the draft."""
    raise_safety_flag(user=user, check=check, verdicts=verdicts)
    request_refit([check.turbocharger.model_id])
    Draft.objects.filter(key=check.key).delete()
