"""Words of measurement and its doubt, by the guides of the Joint Committee for Guides in Metrology (JCGM)."""

from checks.vocabulary.terms.term import Term, TermGroup

TERMS = TermGroup(
    "uncertainty",
    "Uncertainty and verdict",
    (
        Term(
            name="standard uncertainty",
            meaning="The doubt about a value, as a standard deviation: u.",
            source="JCGM 100",
        ),
        Term(
            name="uncertainty budget",
            meaning="The list of all sources of doubt about one result, each with its standard uncertainty and what "
            "it contributes.",
            source="JCGM 100",
            method="travel",
        ),
        Term(
            name="combined standard uncertainty",
            meaning="All lines of the budget taken together, as the root of the sum of their squared contributions.",
            source="JCGM 100",
            method="travel",
        ),
        Term(
            name="sensitivity",
            meaning="By how much the result moves when one input moves by one of its units.",
            source="JCGM 100",
            method="travel",
        ),
        Term(
            name="degrees of freedom",
            meaning="How well a standard deviation is known: the more, the better. Without end where it is known "
            "exactly.",
            source="JCGM 100",
            method="travel",
        ),
        Term(
            name="coverage factor",
            meaning="What the combined standard uncertainty is multiplied by to reach the expanded uncertainty: k, "
            "about 2 for 95 %.",
            source="JCGM 100",
            method="travel",
        ),
        Term(
            name="expanded uncertainty",
            meaning="Half the width of the range that holds the true value with 95 % probability: U = k u. It stands "
            "after ±.",
            unit="that of the value",
            source="JCGM 100",
            method="travel",
        ),
        Term(
            name="conformance probability",
            meaning="The probability that the true travel lies inside the window, given the reading: P in.",
            unit="%",
            source="JCGM 106",
            method="verdict",
        ),
        Term(
            name="acceptance limits",
            meaning="The two readings between which the conformance probability reaches the policy's level.",
            unit="mm, in or thou",
            source="JCGM 106",
            method="fitness",
        ),
        Term(
            name="guard band",
            meaning="The strip between a limit of the window and the acceptance limit beside it, where a reading "
            "cannot prove the window.",
            unit="mm, in or thou",
            source="JCGM 106",
            method="fitness",
        ),
        Term(
            name="test uncertainty ratio",
            meaning="Width of the window over twice the expanded uncertainty. The larger it is, the narrower the "
            "guard bands.",
            source="ILAC-G8",
            method="fitness",
        ),
        Term(
            name="consumer's risk",
            meaning="How many of all units are outside, yet told inside.",
            unit="%",
            source="JCGM 106",
            method="fitness",
        ),
        Term(
            name="producer's risk",
            meaning="How many of all units are inside, yet not told so.",
            unit="%",
            source="JCGM 106",
            method="fitness",
        ),
        Term(
            name="repeatability",
            meaning="How far readings of one part by one technician with one set of instruments scatter, as a "
            "standard deviation.",
            unit="mm, in or thou",
            source="ISO 5725",
            method="study",
        ),
        Term(
            name="reproducibility",
            meaning="What changes between technicians add to that, as a standard deviation.",
            unit="mm, in or thou",
            source="AIAG, Measurement Systems Analysis",
            method="study",
        ),
        Term(
            name="distinct categories",
            meaning="How many classes of parts the readings can tell apart; five or more are wanted.",
            source="AIAG, Measurement Systems Analysis",
            method="study",
        ),
    ),
)
