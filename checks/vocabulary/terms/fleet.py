"""Words of the whole fleet: complaints, comparisons, reviews."""

from checks.vocabulary.terms.term import Term, TermGroup

TERMS = TermGroup(
    "fleet",
    "Complaints, comparisons and reviews",
    (
        Term(
            name="complaint",
            meaning="What a driver or the bay says is wrong with a truck. A check made since answers it; a manager "
            "closes it with a finding.",
        ),
        Term(
            name="lag",
            meaning="How many months before a complaint count for it.",
            unit="months",
            method="complaint-odds",
        ),
        Term(
            name="odds ratio",
            meaning="The odds of a complaint while travel is outside over those while it is inside. 1 means no "
            "connection.",
            source="Mantel and Haenszel 1959",
            method="complaint-odds",
        ),
        Term(
            name="silent truck",
            meaning="A truck that is outside and thirsty, about which nobody has complained.",
            method="complaint-odds",
        ),
        Term(
            name="limits",
            meaning="The range, given with an estimate, that holds the true value in 95 of 100 such cases. "
            "Statistics calls it a confidence interval.",
            unit="that of the value",
        ),
        Term(
            name="prediction interval",
            meaning="The range that holds one further value, not only the mean, with the probability given.",
            unit="that of the value",
            method="drift",
        ),
        Term(
            name="exact interval",
            meaning="Limits of a share that hold for small numbers too.",
            unit="%",
            source="Clopper and Pearson 1934",
            method="shares",
        ),
        Term(
            name="p",
            meaning="The probability of a difference at least as large by chance alone, if there were none in truth.",
            method="complaint-odds",
        ),
        Term(
            name="measurement study",
            meaning="Several technicians read the same parts several times in a random order. Published, it takes "
            "the place of the assumed repeatability.",
            method="study",
        ),
        Term(
            name="review",
            meaning="The monthly account of a depot or the fleet: PDF, workbook and CSV files made from one frozen "
            "reading of the records.",
        ),
        Term(
            name="amendment",
            meaning="A correction of a record, with its author and reason. The old value stays.",
        ),
        Term(
            name="job",
            meaning="Work that goes on in the background and tells how far it is.",
        ),
    ),
)
