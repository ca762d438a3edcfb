"""Numbers of many checks of one model."""

from checks.vocabulary.methods.method import Method, MethodGroup
from checks.vocabulary.methods.places import BOARD, MODELS

ON_THE_UNIT = "The page of the unit has all its checks; each opens its readings."

METHODS = MethodGroup(
    "drift-and-forecast",
    "Drift and forecast",
    (
        Method(
            key="drift",
            name="drift and forecast",
            title="Drift and forecast",
            in_short="A mixed model over all units of a turbocharger model tells how fast each drifts and where its "
            "travel will stand, with limits. The limits of a model's drift are those of its mean, not of one unit.",
            behind="The page of the unit has all its checks; each opens its readings. The page of the model names "
            "readings that were left out, and why.",
            begin=MODELS,
            sources=(
                "Laird and Ware 1982",
                "Henderson 1975, for the predictions",
                "Chung et al. 2013, for the weak penalty",
            ),
            modules=("checks.rules.drift", "checks.rules.likelihood", "checks.rules.forecast", "checks.rules.pooling"),
        ),
        Method(
            key="chance-outside",
            name="chance of being outside",
            title="Chance of being outside",
            in_short="The probability that the true travel is outside the window on a day, by the forecast.",
            behind=ON_THE_UNIT,
            begin=BOARD,
            sources=("Normal distribution about the forecast, as for drift",),
            modules=("checks.rules.forecast",),
        ),
        Method(
            key="jumps",
            name="jumps and small shifts",
            title="Jumps and small shifts",
            in_short="Each reading against what the ones before it forecast, in standard deviations; and their "
            "smoothed run.",
            behind=ON_THE_UNIT,
            begin=BOARD,
            sources=("NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4",),
            modules=("checks.rules.chart", "checks.rules.restart"),
        ),
        Method(
            key="batches",
            name="batches",
            title="Batches that were set apart",
            in_short="Whether units that came together were set alike: their travel when fitted against the model's "
            "others.",
            behind="The page of the model lists every batch and its units; each unit has its checks.",
            begin=MODELS,
            sources=("Cook and Weisberg 1982, the externally studentised residual",),
            modules=("checks.rules.batches",),
        ),
    ),
)
