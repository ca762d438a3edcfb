"""Numbers of one check."""

from checks.vocabulary.methods.method import Method, MethodGroup
from checks.vocabulary.methods.places import BOARD, INSTRUMENTS

ON_THE_CHECK = "The page of the check has the readings as typed, the instruments, and the certificates that counted."

METHODS = MethodGroup(
    "one-check",
    "One check",
    (
        Method(
            key="travel",
            name="travel and its uncertainty",
            title="Travel at the setting and its uncertainty budget",
            in_short="Readings are corrected by the instruments' certificates and carried to the setting along the "
            "stroke's own curve. The budget keeps every source of doubt as a line.",
            behind=ON_THE_CHECK,
            begin=BOARD,
            sources=(
                "JCGM 100:2008",
                "JCGM 101:2008, where the curve is too bent for first order",
                "ISO 22514-7:2012, for what a study has counted already (from memory)",
            ),
            modules=(
                "checks.measurement.correction",
                "checks.measurement.travel",
                "checks.measurement.budget",
                "checks.measurement.bend",
            ),
        ),
        Method(
            key="verdict",
            name="verdict",
            title="Conformance probability and state",
            in_short="The probability that the true travel lies inside the window, given the reading and its "
            "uncertainty, decides between inside, outside low, outside high and undecided. A stroke that broke the "
            "procedure is void.",
            behind=ON_THE_CHECK,
            begin=BOARD,
            sources=("JCGM 106:2012, 7.4",),
            modules=("checks.measurement.conformity", "checks.measurement.voids"),
        ),
        Method(
            key="fitness",
            name="fitness and risks",
            title="Acceptance limits, fitness of a set, and what the level costs",
            in_short="Before anything is measured: which readings would prove the window with these instruments. And "
            "for a policy: how many units would be told wrongly.",
            behind="The instruments' pages have their certificates; as-found travel of a model is on its units' pages.",
            begin=INSTRUMENTS,
            sources=("JCGM 106:2012, 8 and 9.5", "ILAC-G8, for the test uncertainty ratio (from memory)"),
            modules=("checks.measurement.acceptance", "checks.measurement.conformity", "checks.selectors.risk"),
        ),
        Method(
            key="slope",
            name="slope",
            title="Slope at the setting",
            in_short="By how much travel grows with pressure at the setting, from a smooth curve through the rising "
            "readings; with too few of them the slope pooled over the model's checks, else a stated assumption.",
            behind=ON_THE_CHECK,
            begin=BOARD,
            sources=("Fritsch and Butland 1984, for the curve", "The assumption is ours, no source"),
            modules=("checks.measurement.curve", "checks.measurement.interpolant", "checks.measurement.travel"),
        ),
        Method(
            key="start-of-travel",
            name="start of travel",
            title="Start-of-travel pressure",
            in_short="Where the rod begins to move: the bend of a line that rests first and rises then.",
            behind=ON_THE_CHECK,
            begin=BOARD,
            sources=("Least squares; any textbook",),
            modules=("checks.measurement.curve",),
        ),
        Method(
            key="hysteresis",
            name="hysteresis",
            title="Hysteresis at the setting",
            in_short="How much further out the rod stands on the fall than on the rise.",
            behind=ON_THE_CHECK,
            begin=BOARD,
            sources=("Common practice, no source",),
            modules=("checks.measurement.curve",),
        ),
        Method(
            key="sticking",
            name="sticking",
            title="Sticking",
            in_short="The largest step of the moving rod that a smooth curve does not explain, if there is one.",
            behind=ON_THE_CHECK,
            begin=BOARD,
            sources=("The three standard uncertainties are ours, no source",),
            modules=("checks.measurement.curve",),
        ),
        Method(
            key="leak-down",
            name="leak-down",
            title="Leak-down",
            in_short="How fast pressure is lost with the supply closed: the slope of a line through the readings of "
            "a hold.",
            behind=ON_THE_CHECK,
            begin=BOARD,
            sources=("Least squares; any textbook",),
            modules=("checks.measurement.curve",),
        ),
        Method(
            key="adjustment",
            name="adjustment advice",
            title="Adjustment advice",
            in_short="The whole number of half turns whose predicted travel is nearest to nominal, with the chance "
            "that it lands inside; learned from the thread pitch and from recorded adjustments of the model.",
            behind="The page of the check has the stroke; recorded adjustments are checks with an as-left stroke, on "
            "the pages of the model's units.",
            begin=BOARD,
            sources=(
                "Normal-normal update with known variances; any textbook of Bayesian statistics",
                "One turn moves the rod by its pitch: common practice, no source",
            ),
            modules=("checks.measurement.adjustment",),
        ),
    ),
)
