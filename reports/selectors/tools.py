"""The instruments of a check, each with the certificate that counted on the day."""

from dataclasses import dataclass
from datetime import date

from checks.convert import certificate_on
from checks.models import Check, Instrument
from checks.selectors.days import day_at

ROLES = (
    ("travel", "dial"),
    ("stimulus", "stimulus_instrument"),
    ("meter", "meter"),
    ("supply", "regulator"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tool:
    """One instrument; ``in_date`` is None for a regulator, which needs no certificate."""

    role: str
    pk: int
    label: str
    kind: str
    certificate: str
    due_on: date | None
    in_date: bool | None


def tools_of(check: Check) -> list[Tool]:
    """Instruments of a check from ``checks_to_judge``; no further query."""
    on = day_at(check.depot, check.made_at)
    held = [(role, getattr(check, name)) for role, name in ROLES]
    return [_tool(role, row, on) for role, row in held if row is not None]


def _tool(role: str, row: Instrument, on: date) -> Tool:
    certificate = certificate_on(row.certificates.all(), on)
    needed = row.kind != Instrument.Kind.REGULATOR
    return Tool(
        role=role,
        pk=row.pk,
        label=row.label,
        kind=row.get_kind_display(),
        certificate=certificate.number if certificate else "",
        due_on=certificate.due_on if certificate else None,
        in_date=(certificate is not None and certificate.due_on >= on) if needed else None,
    )
