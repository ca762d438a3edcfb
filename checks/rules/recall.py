"""What a certificate would have said, had the error that was found later been known at the time of a check.

Between the last good certificate and the one that found the error nobody knows when it came. So a check is judged
twice: with the whole error, as after a blow on the first day, and with an error grown evenly in time from none.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from enum import StrEnum

from checks.measurement.calibration import Certificate, CertificatePoint, InstrumentSet
from checks.measurement.interpolant import monotone, straight


class Part(StrEnum):
    """What an instrument was in a check."""

    DIAL = "dial"
    STIMULUS = "stimulus"
    METER = "meter"


def grown_share(since: date | None, found_on: date, on: date) -> float:
    """Share of the error that had grown by the day ``on``, evenly from ``since`` to ``found_on``.

    Without a day to grow from, the whole error counts.
    """
    if since is None or found_on <= since:
        return 1.0
    return min(1.0, max(0.0, (on - since).days / (found_on - since).days))


def worst_of(points: Sequence[CertificatePoint], permissible: Sequence[float]) -> CertificatePoint | None:
    """The point that exceeds its permissible error by the largest factor; None where none exceeds it.

    An error equal to the permissible one is within it; the last digits that conversions leave do not count.
    """
    shares = [
        (round(abs(point.error) / limit, 9), nth)
        for nth, (point, limit) in enumerate(zip(points, permissible, strict=True))
        if limit > 0.0
    ]
    share, nth = max(shares, default=(0.0, 0), key=lambda pair: (pair[0], -pair[1]))
    return points[nth] if share > 1.0 else None


def suspected(relied: Certificate, found: Sequence[CertificatePoint], share: float) -> Certificate:
    """The certificate that was relied on, moved by ``share`` of what was found beyond it.

    Parameters
    ----------
    relied : the certificate that counted on the day of the check
    found : as-found points of the later certificate, in rising order of indication
    share : of the difference between the two errors, 0 (as relied on) to 1 (as found)

    Returns
    -------
    Certificate, with a point wherever either has one; dates and number of ``relied``, since a check made after its
    due date stays void. Beyond the ends of what was found the difference of the nearest end is taken.
    """
    if not found:
        return relied
    knots = sorted({point.indication for point in (*relied.points, *found)})
    ends = found[0].indication, found[-1].indication
    before, after = _errors(relied.points), _errors(found)
    points = []
    for at in knots:
        near = min(max(at, ends[0]), ends[1])
        known = before(at)
        u_known = _uncertainty(relied.points or found, at)
        points.append(
            CertificatePoint(
                indication=at,
                error=known + share * (after(near) - before(near)),
                expanded_uncertainty=2.0 * (u_known + share * (_uncertainty(found, near) - u_known)),
            )
        )
    return replace(relied, points=tuple(points))


def with_error_found(
    instruments: InstrumentSet, part: Part, found: Sequence[CertificatePoint], share: float
) -> InstrumentSet:
    """The instruments of a check with ``share`` of the error that was found in one of them.

    An instrument that had no certificate on the day keeps none: its checks are void as they were.
    """
    stimulus = instruments.stimulus
    if part is Part.DIAL and (relied := instruments.dial.certificate):
        return replace(instruments, dial=replace(instruments.dial, certificate=suspected(relied, found, share)))
    if part is Part.STIMULUS and (relied := stimulus.certificate):
        return replace(instruments, stimulus=replace(stimulus, certificate=suspected(relied, found, share)))
    if part is Part.METER and stimulus.meter and (relied := stimulus.meter.certificate):
        meter = replace(stimulus.meter, certificate=suspected(relied, found, share))
        return replace(instruments, stimulus=replace(stimulus, meter=meter))
    return instruments


def _errors(points: Sequence[CertificatePoint]) -> Callable[[float], float]:
    """Error by indication, as the core reads a certificate: monotone through its points, held beyond the ends."""
    if not points:
        return lambda indication: 0.0
    return monotone([p.indication for p in points], [p.error for p in points]).at


def _uncertainty(points: Sequence[CertificatePoint], at: float) -> float:
    """U/k, straight between points and held beyond the ends."""
    values = [point.expanded_uncertainty / point.coverage_factor for point in points]
    return straight([point.indication for point in points], values, at)
