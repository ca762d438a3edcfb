"""Values of a specification that the constraints allow but that look like a slip: usually a mistaken unit.

Each rule is common practice, no source; its author may confirm the value against the document.
"""

from collections.abc import Callable, Iterator
from datetime import date, timedelta

from django.utils import timezone

from checks.models import SpecificationRevision
from fleet.problems import FleetError

Doubt = FleetError
Rule = Callable[[SpecificationRevision], Iterator[Doubt]]


def doubts_of(row: SpecificationRevision) -> list[Doubt]:
    """Every doubt about a revision that is complete and within its constraints."""
    return [doubt for rule in RULES for doubt in rule(row)]


def _as_typed(row: SpecificationRevision, name: str) -> str:
    return " ".join(row.typed.get(name, [f"{getattr(row, name):g}", ""])).strip()


def _in(row: SpecificationRevision, name: str, value: float, unit: str) -> str:
    """As typed and, where that is another unit, in the one that the bounds are told in."""
    typed = _as_typed(row, name)
    return typed if typed.endswith(f" {unit}") else f"{typed} ({value:.3g} {unit})"


def _mixed_units(row: SpecificationRevision) -> Iterator[Doubt]:
    units = {name: row.typed[name][1] for name in ("setting", "stimulus_max") if name in row.typed}
    if len(set(units.values())) > 1:
        yield Doubt(
            "mixed_units",
            "stimulus_max",
            f"The setting is typed in {units['setting']} and the highest permitted in {units['stimulus_max']}. "
            "Documents rarely mix them: check both units.",
        )
    lengths = {row.typed[name][1] for name in ("lower_mm", "nominal_mm", "upper_mm") if name in row.typed}
    if len(lengths) > 1:
        yield Doubt(
            "mixed_units",
            "nominal_mm",
            f"Lower limit, nominal and upper limit are typed in {' and '.join(sorted(lengths))}. Check the units.",
        )


def _setting_far_below_maximum(row: SpecificationRevision) -> Iterator[Doubt]:
    if row.setting < 0.25 * row.stimulus_max:
        yield Doubt(
            "setting_far_below_maximum",
            "setting",
            f"The setting of {_as_typed(row, 'setting')} is less than a quarter of the highest permitted "
            f"{_as_typed(row, 'stimulus_max')}. Is one of the units mistaken?",
        )


def _capture_beyond_maximum(row: SpecificationRevision) -> Iterator[Doubt]:
    if row.setting < row.stimulus_max < row.setting + row.capture_tolerance:
        yield Doubt(
            "capture_beyond_maximum",
            "capture_tolerance",
            f"With its tolerance the setting of {_as_typed(row, 'setting')} reaches beyond the highest permitted "
            f"{_as_typed(row, 'stimulus_max')}: a reading there is void. Are all three right?",
        )


def _unusual_pressure(row: SpecificationRevision) -> Iterator[Doubt]:
    if row.turbocharger_model.stimulus == "pneumatic" and not 60 <= row.setting <= 600:
        yield Doubt(
            "unusual_setting",
            "setting",
            f"The setting of {_in(row, 'setting', row.setting, 'kPa')} is unusual: actuators are set between 60 and "
            "600 kPa (9 and 87 psi). Is the unit right?",
        )


def _unusual_travel(row: SpecificationRevision) -> Iterator[Doubt]:
    if not 0.3 <= row.nominal_mm <= 20:
        yield Doubt(
            "unusual_travel",
            "nominal_mm",
            f"The nominal of {_in(row, 'nominal_mm', row.nominal_mm, 'mm')} is unusual: rods travel between 0.3 and "
            "20 mm at the setting. Is the unit right?",
        )


def _lopsided_window(row: SpecificationRevision) -> Iterator[Doubt]:
    share = (row.nominal_mm - row.lower_mm) / (row.upper_mm - row.lower_mm)
    if not 0.15 <= share <= 0.85:
        side, limit = ("lower", "lower_mm") if share < 0.5 else ("upper", "upper_mm")
        yield Doubt(
            "lopsided_window",
            "nominal_mm",
            f"The nominal of {_as_typed(row, 'nominal_mm')} lies close to the {side} limit of {_as_typed(row, limit)}. "
            "Nominals usually stand near the middle of the window: has a decimal sign slipped?",
        )


def _wide_zero(row: SpecificationRevision) -> Iterator[Doubt]:
    if row.zero_tolerance_stimulus > 0.05 * row.setting:
        yield Doubt(
            "wide_zero",
            "zero_tolerance_stimulus",
            f"The zero tolerance of {_as_typed(row, 'zero_tolerance_stimulus')} is more than a twentieth of the "
            "setting: a reading with that zero proves little.",
        )
    if row.zero_tolerance_mm > 0.25 * (row.upper_mm - row.lower_mm):
        yield Doubt(
            "wide_zero",
            "zero_tolerance_mm",
            f"The zero tolerance of {_as_typed(row, 'zero_tolerance_mm')} is more than a quarter of the window: a "
            "reading with that zero proves little.",
        )


def _unusual_pitch(row: SpecificationRevision) -> Iterator[Doubt]:
    if row.thread_pitch_mm is not None and not 0.35 <= row.thread_pitch_mm <= 2.5:
        yield Doubt(
            "unusual_pitch",
            "thread_pitch_mm",
            f"The thread pitch of {_in(row, 'thread_pitch_mm', row.thread_pitch_mm, 'mm')} is unusual: rod ends have "
            "0.35 to 2.5 mm. Is the unit right?",
        )


def _far_day(row: SpecificationRevision, today: date | None = None) -> Iterator[Doubt]:
    now = today or timezone.localdate()
    if row.effective_from > now + timedelta(days=366):
        yield Doubt(
            "far_day",
            "effective_from",
            f"The revision takes effect on {row.effective_from:%-d %b %Y}, more than a year from now. "
            "Is the year right?",
        )


RULES: tuple[Rule, ...] = (
    _mixed_units,
    _setting_far_below_maximum,
    _capture_beyond_maximum,
    _unusual_pressure,
    _unusual_travel,
    _lopsided_window,
    _wide_zero,
    _unusual_pitch,
    _far_day,
)
