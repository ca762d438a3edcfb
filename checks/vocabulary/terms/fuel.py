"""Words of fuel."""

from checks.vocabulary.terms.term import Term, TermGroup

TERMS = TermGroup(
    "fuel",
    "Fuel",
    (
        Term(
            name="trip",
            meaning="One run of a truck with its distance, time and fuel and, where known, its payload, ascent, "
            "idling and air temperature.",
        ),
        Term(
            name="truck-month",
            meaning="The trips of one truck in one calendar month, taken together.",
        ),
        Term(
            name="fuel use",
            meaning="Litres burnt for each 100 km.",
            unit="L/100 km",
        ),
        Term(
            name="adjusted fuel use",
            meaning="Fuel use with payload, ascent, speed, idling and air temperature taken out, so that "
            "months can be compared.",
            unit="L/100 km or %",
            method="adjusted-fuel",
        ),
        Term(
            name="own level",
            meaning="What a truck usually burns: the mean of its adjusted fuel use over up to twelve months before.",
            unit="L/100 km",
            method="thirst",
        ),
        Term(
            name="shortfall",
            meaning="How far travel lies below the lower limit; 0 inside the window.",
            unit="mm, in or thou",
            method="fuel-effect",
        ),
        Term(
            name="excess",
            meaning="How far travel lies above the upper limit; 0 inside the window.",
            unit="mm, in or thou",
            method="fuel-effect",
        ),
        Term(
            name="thirst alarm",
            meaning="Stands while a truck has burnt more than its own level for so long, or by so much, that chance "
            "does not explain it.",
            source="NIST/SEMATECH e-Handbook",
            method="thirst",
        ),
        Term(
            name="CUSUM",
            meaning="Cumulative sum: what lies above a level by more than an allowance, added up month after month.",
            source="NIST/SEMATECH e-Handbook",
            method="thirst",
        ),
        Term(
            name="restoration",
            meaning="A unit found outside and brought back inside by an adjustment, or replaced by one that stands "
            "inside.",
            method="before-and-after",
        ),
        Term(
            name="control truck",
            meaning="A truck without an adjustment or swap in the same months, against which a restored one is "
            "compared.",
            method="before-and-after",
        ),
    ),
)
