"""Words of drift, forecasts and dates."""

from checks.vocabulary.terms.term import Term, TermGroup

TERMS = TermGroup(
    "drift-and-dates",
    "Drift, forecast and dates",
    (
        Term(
            name="use",
            meaning="What the unit's engine has run, by its truck's odometer or hour meter.",
            unit="km, mi or h",
        ),
        Term(
            name="drift",
            meaning="How fast travel changes with use, of one unit or as the mean of a model.",
            unit="mm per 100,000 km or per 2,000 h",
            method="drift",
        ),
        Term(
            name="forecast",
            meaning="The travel that the drift model expects on a day, with its uncertainty. Shown as a shaded fan: "
            "half of the chance, and 95 %.",
            method="drift",
        ),
        Term(
            name="chance of being outside",
            meaning="The probability that the true travel is outside the window on a day, by the forecast.",
            unit="%",
            method="chance-outside",
        ),
        Term(
            name="jump",
            meaning="A reading more than 3 standard deviations from what the unit's earlier readings forecast.",
            method="jumps",
        ),
        Term(
            name="EWMA",
            meaning="Exponentially weighted moving average: a smoothed run of deviations that shows small shifts "
            "which no single reading does.",
            source="NIST/SEMATECH e-Handbook",
            method="jumps",
        ),
        Term(
            name="batch",
            meaning="Units of one model received in the same quarter, compared by the travel at which they came.",
            method="batches",
        ),
        Term(
            name="due date",
            meaning="The day by which to see a unit again: the earliest that any rule asks for.",
            method="see-again",
        ),
        Term(
            name="binding rule",
            meaning="The rule that asks for the earliest day. The others that ask stand beside it.",
            method="see-again",
        ),
        Term(
            name="horizon",
            meaning="How far ahead the policy looks for units that are leaving.",
        ),
        Term(
            name="policy",
            meaning="The numbers that the fleet's managers set: level of proof, risk, intervals, horizon.",
        ),
        Term(
            name="interval",
            meaning="The time or use between two checks of one unit.",
            unit="days, km, mi or h",
            method="intervals",
        ),
        Term(
            name="life",
            meaning="The use from a setting to the unit's first verdict outside. Known to lie between two checks, or "
            "to be longer than the last one.",
            unit="km, mi or h",
            method="life",
        ),
        Term(
            name="B10",
            meaning="The life that 10 % of settings do not reach.",
            unit="km, mi or h",
            source="Meeker and Escobar 1998",
            method="life",
        ),
        Term(
            name="Weibull",
            meaning="A family of life curves with a scale and a shape. A shape above 1 means wear: the longer in "
            "use, the likelier to leave.",
            source="Meeker and Escobar 1998",
            method="life",
        ),
    ),
)
