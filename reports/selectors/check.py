"""One check as its page and its sheet show it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.http import Http404

from checks.components import (
    BudgetTable,
    Reading,
    WindowStrip,
    advice_sentence,
    budget_table,
    half_turns_text,
    window_strip,
)
from checks.components.stroke_plot import StrokeFrame, StrokePlot, StrokePoint, stroke_plot
from checks.display import distance_text
from checks.models import Amendment, Check, SpecificationRevision, Stroke
from checks.selectors.assessment import checks_to_judge
from checks.selectors.specification import stimulus_unit
from fleet.models import User
from fleet.selectors.clock import clock_at
from fleet.selectors.scope import holds, visible_to
from reports.charts.stroke import stroke_figure
from reports.selectors.curves import curve_of
from reports.selectors.features import FeatureRow, feature_rows
from reports.selectors.places import Place, name_of, places_of
from reports.selectors.specification import SpecificationFacts, facts_of
from reports.selectors.tools import Tool, tools_of
from reports.selectors.verdicts import Verdict, verdicts_of


@dataclass(frozen=True, slots=True, kw_only=True)
class StrokePage:
    """One stroke: its verdict and all that the verdict rests on."""

    verdict: Verdict
    budget: BudgetTable | None
    features: list[FeatureRow]
    advice: str
    readings: list[Any]
    figure: dict[str, Any] | None
    plot: StrokePlot | None


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckPage:
    """Everything about one check."""

    check: Check
    place: Place | None
    made_at: datetime
    technician: str
    odometer: str
    alignment: str
    turned: str
    specification: SpecificationFacts
    strip: WindowStrip
    strokes: list[StrokePage]
    earlier: list[Verdict]
    tools: list[Tool]
    amendments: list[Amendment]
    may_amend: bool

    @property
    def name(self) -> str:
        """What people call the unit."""
        return name_of(self.place, self.check.turbocharger.serial)

    @property
    def opening(self) -> str:
        """The verdict that holds now; said to be as left where the rod was turned."""
        said = self.last.verdict.sentence
        return said if len(self.strokes) == 1 else f"As left, {said[:1].lower()}{said[1:]}"

    @property
    def last(self) -> StrokePage:
        """The stroke that tells the present setting."""
        return self.strokes[-1]


def check_page(*, user: User, pk: int) -> CheckPage:
    """One check as `user` may see it; a constant number of queries.

    Raises
    ------
    Http404 : no such check at a depot of theirs.
    """
    if not visible_to(user, Check.objects.filter(pk=pk), depot="turbocharger__depot").exists():
        raise Http404
    check = checks_to_judge([pk])[0]
    pressure = stimulus_unit(check.specification.turbocharger_model, user)
    current, earlier = verdicts_of(pk, user)
    by_moment = {stroke.moment: stroke for stroke in check.strokes.all()}
    return CheckPage(
        check=check,
        place=places_of([check.turbocharger_id]).get(check.turbocharger_id),
        made_at=clock_at(check.depot.time_zone, check.made_at),
        technician=check.technician.display_name,
        odometer=distance_text(check.odometer_km, user.distance_unit) if check.odometer_km is not None else "",
        alignment=_alignment(check),
        turned=half_turns_text(check.half_turns) if check.half_turns is not None else "",
        specification=facts_of(check.specification, user),
        strip=window_strip(
            current[-1].window, [_reading(verdict) for verdict in current], unit=user.length_unit, size="large"
        ),
        strokes=[_stroke(verdict, by_moment[verdict.moment], check, user, pressure) for verdict in current],
        earlier=earlier,
        tools=tools_of(check),
        amendments=list(check.amendments.select_related("author")),
        may_amend=holds(user, "manager", check.turbocharger.depot) or check.technician_id == user.pk,
    )


def _reading(verdict: Verdict) -> Reading:
    return Reading(
        state=verdict.state,
        travel_mm=verdict.result.travel_mm,
        expanded_mm=verdict.result.expanded_uncertainty_mm,
        moment=verdict.moment,
    )


def _stroke(verdict: Verdict, stroke: Stroke, check: Check, user: User, pressure: str) -> StrokePage:
    result = verdict.result
    curve = curve_of(result.features.points, check.specification, user.length_unit, pressure)
    return StrokePage(
        verdict=verdict,
        budget=budget_table(result),
        features=feature_rows(result.features, user.length_unit, pressure),
        advice=advice_sentence(result.advice, unit=user.length_unit),
        readings=list(stroke.readings.all()),
        figure=stroke_figure(curve) if curve else None,
        plot=_plot(result.features.points, check.specification, user.length_unit, pressure),
    )


def _plot(
    points: Sequence[tuple[str, float, float]], held: SpecificationRevision, length_unit: str, pressure: str
) -> StrokePlot | None:
    """The same curve drawn by the server, for paper."""
    drawn = [StrokePoint(phase, p, x) for phase, p, x in points if phase in {"rise", "setting", "fall"}]
    frame = StrokeFrame(
        setting=held.setting,
        stimulus_max=held.stimulus_max,
        lower_mm=held.lower_mm,
        nominal_mm=held.nominal_mm,
        upper_mm=held.upper_mm,
    )
    return stroke_plot(frame, drawn, stimulus_unit=pressure, length_unit=length_unit) if drawn else None


def _alignment(check: Check) -> str:
    geometry = check.get_geometry_display()
    if check.angle_deg is not None:
        return f"{geometry}, at {check.angle_deg:g}° to the rod"
    return f"{geometry}, within {check.angle_max_deg:g}° of the rod"
