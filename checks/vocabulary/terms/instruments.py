"""Words of instruments and their certificates."""

from checks.vocabulary.terms.term import Term, TermGroup

TERMS = TermGroup(
    "instruments",
    "Instruments",
    (
        Term(
            name="dial indicator",
            meaning="The instrument that reads the rod's travel. Its readings are in divisions of its scale.",
        ),
        Term(
            name="transducer",
            meaning="A pressure instrument that gives an electrical signal, read on a multimeter.",
        ),
        Term(
            name="indication",
            meaning="What an instrument shows, before its zero and its certificate are taken into account.",
            source="JCGM 200",
        ),
        Term(
            name="zero",
            meaning="The indication with the line open to the atmosphere. It is taken off every reading.",
        ),
        Term(
            name="resolution",
            meaning="The smallest change that an instrument shows: a division of a scale, or a step of the last digit.",
            source="JCGM 200",
        ),
        Term(
            name="calibration certificate",
            meaning="The record of an instrument's errors against a reference on one day, each with its uncertainty, "
            "and the day until which it counts.",
        ),
        Term(
            name="error",
            meaning="Indication less reference at one point of a certificate.",
            source="JCGM 200",
        ),
        Term(
            name="permissible error",
            meaning="The largest error that the instrument's maker or a standard allows.",
            source="JCGM 200",
        ),
        Term(
            name="alignment",
            meaning="How the dial's plunger stands to the rod's motion. A tilt makes it read too much or too little, "
            "by the cosine of the angle.",
            unit="degrees",
            method="travel",
        ),
        Term(
            name="fit set",
            meaning="A set of instruments with which some reading could prove the window.",
            method="fitness",
        ),
        Term(
            name="recall",
            meaning="The work that begins when a certificate finds an instrument beyond its permissible error: its "
            "checks are judged again, and units whose verdict changes are seen again.",
            method="recall",
        ),
    ),
)
