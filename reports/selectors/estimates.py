"""A drift fit in words: estimates with uncertainties, and what to know before trusting them."""

from dataclasses import dataclass

from checks.display import length_text
from checks.models import DriftFit
from reports.words.drift import PER, drift_text

# Of the information about the mean drift and settings; beyond this the fit cannot tell them apart.
ILL_CONDITIONED = 1e8
FEW_UNITS = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """One estimate as the table shows it; ``rests_on`` stands beside it."""

    name: str
    value: str
    rests_on: str


def estimates(fit: DriftFit, unit: str) -> list[Estimate]:
    """Means with their expanded uncertainty (k = 2), spreads as standard deviations, and what each rests on."""
    sigma, plant, workshop, l21, l22 = fit.estimates["theta"]
    told, per = fit.diagnostics, PER[fit.basis]
    seen = int(told.get("units_with_readings", fit.units))
    sloped = int(told.get("units_with_slope", 0))
    a_unit = f"{told.get('readings_per_unit', 0.0):.1f} readings a unit"
    means = [_mean(fit, i, unit) for i in range(3)]
    return [
        Estimate(name="Mean travel as set by the plant", value=means[0].removeprefix("+"), rests_on=f"{seen} units"),
        Estimate(name="Mean travel as set in a workshop", value=means[1].removeprefix("+"), rests_on=f"{seen} units"),
        Estimate(name=f"Mean drift per {per}", value=means[2], rests_on=f"{fit.readings} readings"),
        Estimate(name="Spread of the plant's settings", value=_sd(plant, unit), rests_on=f"{seen} units, {a_unit}"),
        Estimate(name="Spread of workshop settings", value=_sd(workshop, unit), rests_on=f"{seen} units, {a_unit}"),
        Estimate(
            name=f"Spread of drift between units, per {per}",
            value=_sd((l21**2 + l22**2) ** 0.5, unit),
            rests_on=f"{sloped} units that were read twice or more in one setting, {a_unit}",
        ),
        Estimate(
            name="Scatter of one unit about its own line",
            value=_sd(sigma, unit),
            rests_on=f"{fit.readings} readings, beyond their own uncertainty",
        ),
    ]


def _mean(fit: DriftFit, place: int, unit: str) -> str:
    variance = fit.estimates["cov"][place][place]
    if not variance > 0:
        return "not known: no reading tells it"
    return drift_text(fit.estimates["beta"][place], variance**0.5, unit)


def _sd(value: float, unit: str) -> str:
    return length_text(abs(value), unit)


def remarks(fit: DriftFit) -> list[str]:
    """What the fit says of itself, in sentences; the first says how it was reached."""
    told = fit.diagnostics
    seen = int(told.get("units_with_readings", fit.units))
    out = [
        f"Fitted to its own {seen} units."
        if fit.route == DriftFit.Route.OWN
        else f"With {seen} units it is too small to tell its spreads alone: fewer than {FEW_UNITS}. It borrows from "
        "the fleet's other models, and its forecasts allow for what remains unknown of the spreads."
    ]
    if told.get("converged", True):
        out.append(f"The search converged after {told.get('evaluations', 0)} steps.")
    else:
        out.append("The search did not converge: take these numbers as rough, and report it.")
    condition = told.get("condition")
    if condition is None or condition > ILL_CONDITIONED:
        out.append("Settings and drift can hardly be told apart: readings lie at too similar usages.")
    else:
        out.append(f"Settings and drift can be told apart (condition {condition:,.0f}).")
    return out + [str(remark) for remark in told.get("remarks", ())]
