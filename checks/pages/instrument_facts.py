"""What the page of an instrument shows: its scale, and each certificate with its picture and its table."""

from dataclasses import dataclass

from checks.models import Certificate, CertificatePoint, Instrument
from checks.models.instrument_parts import BY_EYE
from checks.pages.error_chart import ErrorChart, error_chart
from checks.pages.numbers import Fact, fact, number_text, quantity_text
from checks.selectors.instrument import CertificateRow, certificate_rows, permissible_at
from checks.services.scales import READ_TO, point_units
from fleet.models import User

# Laboratories often end a few per cent short of the scale's own ends: common practice, no source.
NEAR_THE_END = 0.1


@dataclass(frozen=True, slots=True)
class PointLine:
    """One calibrated point in the reader's unit."""

    moment: str
    indication: str
    error: str
    uncertainty: str
    factor: str
    share: str
    typed: str
    beyond: bool


@dataclass(frozen=True, slots=True)
class CertificatePanel:
    """A certificate as it is shown."""

    row: CertificateRow
    chart: ErrorChart | None
    lines: tuple[PointLine, ...]


def kept_unit(instrument: Instrument) -> str:
    """The unit in which this instrument's quantity is kept."""
    return point_units(instrument.kind, instrument.electrical_unit)[0]


def facts_of(row: Instrument, user: User) -> list[Fact]:
    """The scale of an instrument, by its kind."""
    kept = kept_unit(row)
    facts = [Fact("Depot", str(row.depot)), Fact("Description", row.description or "—")]
    if row.kind == Instrument.Kind.REGULATOR:
        return (
            facts
            if row.range_high is None
            else [*facts, fact(row, "range_high", kept, user, "Highest outlet pressure")]
        )
    facts += [_range(row, kept, user)]
    if row.division is not None:
        facts.append(fact(row, "division", kept, user, "Scale division or last digit"))
    if row.kind in BY_EYE:
        facts.append(Fact("Read to", READ_TO.get(f"{row.read_to:g}", f"{row.read_to:g} of a division")))
    if row.kind == Instrument.Kind.TRANSDUCER:
        facts += _transducer(row, user)
    facts.append(fact(row, "permissible_error", kept, user, "Permissible error, ±"))
    if row.error_share:
        facts.append(Fact("and of the reading", f"{number_text(100 * row.error_share)} %"))
    return facts


def _range(row: Instrument, kept: str, user: User) -> Fact:
    low, high = quantity_text(row.range_low, kept, user), quantity_text(row.range_high, kept, user)
    ends = [row.typed[name] for name in ("range_low", "range_high") if name in row.typed]
    typed = " to ".join(" ".join(end) for end in ends)
    return Fact("Range", f"{low} to {high}", "" if typed in {f"{low} to {high}", high} else typed)


def _transducer(row: Instrument, user: User) -> list[Fact]:
    typed = row.typed.get("sensitivity")
    stored = f"{number_text(row.sensitivity or 0.0)} {row.electrical_unit}/kPa"
    return [
        Fact("Sensitivity", stored, "" if not typed or typed[1].endswith("/kPa") else " ".join(typed)),
        Fact("Output at zero pressure", f"{number_text(row.offset)} {row.electrical_unit}"),
    ]


def certificate_panels(instrument: Instrument, user: User) -> list[CertificatePanel]:
    """Every certificate, newest first."""
    kept = kept_unit(instrument)
    return [
        CertificatePanel(
            row=row,
            chart=error_chart(instrument, row, kept, user),
            lines=tuple(_line(instrument, point, kept, user) for point in (*row.found, *row.left)),
        )
        for row in certificate_rows(instrument)
    ]


def reach_of(instrument: Instrument, counts: Certificate | None, panels: list[CertificatePanel], user: User) -> str:
    """How far the certificate that counts reaches, where the scale of what is read by eye goes on; else empty."""
    points = next((panel.row.left or panel.row.found for panel in panels if panel.row.certificate == counts), ())
    if not points or instrument.kind not in BY_EYE or instrument.range_high is None:
        return ""
    low, high = min(point.indication for point in points), max(point.indication for point in points)
    bottom = instrument.range_low or 0.0
    spare = NEAR_THE_END * (instrument.range_high - bottom)
    if low - bottom <= spare and instrument.range_high - high <= spare:
        return ""
    kept = kept_unit(instrument)
    ends = f"{quantity_text(low, kept, user)} to {quantity_text(high, kept, user)}"
    return f"Its certificate reaches from {ends}. The scale goes on; a stroke that needs a reading out there is void."


def _line(instrument: Instrument, point: CertificatePoint, kept: str, user: User) -> PointLine:
    limit = permissible_at(instrument, point.indication)
    share = round(abs(point.error) / limit, 9) if limit else None
    return PointLine(
        moment=str(point.get_moment_display()),
        indication=quantity_text(point.indication, kept, user),
        error=quantity_text(point.error, kept, user, digits=3),
        uncertainty=quantity_text(point.expanded_uncertainty, kept, user, digits=3),
        factor=number_text(point.coverage_factor, digits=3),
        share="" if share is None else f"{number_text(100 * share, digits=3)} %",
        typed=", ".join(f"{name.replace('_', ' ')} {' '.join(typed)}" for name, typed in point.typed.items()),
        beyond=share is not None and share > 1,
    )
