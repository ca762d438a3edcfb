"""How models drift, from the fits that counted when the review was run."""

from checks.measurement.quantiles import NORMAL_95
from checks.models import DriftFit
from checks.models.forecast import Basis
from checks.selectors.usage import SCALES
from reports.export.frozen import Chart, Column, Table, table
from reports.review.records import Records
from reports.selectors.models_drift import drift_u


def drift_table(records: Records) -> Table:
    """Mean drift of each model with its limits."""
    fits = DriftFit.objects.filter(is_current=True).select_related("turbocharger_model")
    rows = []
    for fit in fits.order_by("turbocharger_model__name"):
        drift, half = fit.estimates["beta"][2], NORMAL_95 * drift_u(fit)
        usage = f"{SCALES[Basis(fit.basis)]:,.0f} {'km' if fit.basis == 'km' else 'h'}"
        rows.append(
            (fit.turbocharger_model.name, fit.units, fit.readings, drift, drift - half, drift + half, usage,
             fit.get_route_display(), fit.made_at.date())
        )  # fmt: skip
    return table(
        "drift_by_model",
        "Drift by model",
        "How far the travel of each model moves with use, on average over its units in the whole fleet.",
        (
            Column("model", "model", "Turbocharger model."),
            Column("units", "units", "Units with readings in the fit.", "number"),
            Column("readings", "readings", "Readings in the fit.", "number"),
            Column("drift", "drift", "Mean drift of travel per step of usage.", "number", "mm", 4),
            Column("drift_low_limit", "95 % from", "Its lower 95 % limit.", "number", "mm", 4),
            Column("drift_high_limit", "95 % to", "Its upper 95 % limit.", "number", "mm", 4),
            Column("per", "per", "The step of usage."),
            Column("route", "how", "Fitted from the model's own units, or pooled with the fleet's other models."),
            Column("fitted_on", "fitted on", "Day of the fit.", "day"),
        ),
        rows,
        note="The fit covers the whole fleet also in a depot's review: drift belongs to the model, not to the depot.",
        chart=Chart(
            "range",
            "model",
            ("drift", "drift_low_limit", "drift_high_limit"),
            "Mean drift with 95 % limits",
            "mm per step of usage",
        ),
    )
