"""States of a judged reading and of a unit: each a word with a mark of its own shape."""

from checks.vocabulary.terms.term import Term, TermGroup

OF_READINGS = TermGroup(
    "states",
    "States of a reading",
    (
        Term(
            name="inside",
            meaning="The probability that the true travel lies inside the window is at least the policy's level.",
            source="JCGM 106",
            method="verdict",
            state="inside",
        ),
        Term(
            name="outside low",
            meaning="The travel lies below the window, proven at the policy's level.",
            source="JCGM 106",
            method="verdict",
            state="outside_low",
        ),
        Term(
            name="outside high",
            meaning="The travel lies above the window, proven at the policy's level.",
            source="JCGM 106",
            method="verdict",
            state="outside_high",
        ),
        Term(
            name="undecided",
            meaning="The reading is too close to a limit for these instruments: neither inside nor outside is proven.",
            method="verdict",
            state="undecided",
        ),
        Term(
            name="void",
            meaning="The procedure was broken, so there is no verdict. The page says what to repeat.",
            method="verdict",
            state="void",
        ),
    ),
)
OF_UNITS = TermGroup(
    "unit-states",
    "States of a unit",
    (
        Term(
            name="never checked",
            meaning="Nobody has checked this unit.",
            state="never_checked",
        ),
        Term(
            name="leaving",
            meaning="Last seen inside, or never checked, and forecast to be outside within the policy's horizon with "
            "the chance that it names.",
            method="chance-outside",
            state="leaving",
        ),
        Term(
            name="overdue",
            meaning="Its due date has passed without a check. It stands beside the other states.",
            method="see-again",
            state="overdue",
        ),
    ),
)
