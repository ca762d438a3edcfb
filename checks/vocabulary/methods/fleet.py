"""Numbers of the whole fleet: complaints, lives, studies, recalls."""

from checks.vocabulary.methods.method import Method, MethodGroup
from checks.vocabulary.methods.places import COMPLAINT_STUDY, COMPLAINTS, LIFE, RECALLS, STUDIES

METHODS = MethodGroup(
    "the-fleet",
    "Complaints, lives, studies and recalls",
    (
        Method(
            key="complaint-evidence",
            name="evidence on a complaint",
            title="What the records say of one complaint",
            in_short="Where the wastegate stood on the day, what fuel did, and how sure that is.",
            behind="The complaint's page opens the check and the unit; the months stand in its table.",
            begin=COMPLAINTS,
            sources=("Ours, no source; the parts are those of the forecast and of the thirst alarm",),
            modules=("checks.rules.evidence",),
            limits=True,
        ),
        Method(
            key="complaint-odds",
            name="odds of a complaint",
            title="Complaints against travel: the odds ratio",
            in_short="Set against travel in the months before, stratified by model and depot. An odds ratio is no "
            "proof of cause.",
            behind="The tables by depot and model stand on the page; the complaints are listed, and each opens its "
            "records.",
            begin=COMPLAINT_STUDY,
            sources=(
                "Mantel and Haenszel 1959",
                "Robins, Breslow and Greenland 1986, for the limits",
                "Mehta, Patel and Gray 1985, where counts are small; in one table Fisher's exact test",
            ),
            modules=("checks.rules.complaints", "checks.rules.odds"),
            limits=True,
        ),
        Method(
            key="life",
            name="life",
            title="Life until outside, and B10",
            in_short="Use from a setting to its first verdict outside, known to lie between two checks: Weibull by "
            "maximum likelihood, 95 % limits from the profile of the likelihood below 50 seen outside. Fewer than 5 "
            "tell no B10.",
            behind="The lives as CSV: one row for each setting, with the checks between which it ended.",
            begin=LIFE,
            sources=(
                "Meeker and Escobar 1998, Statistical Methods for Reliability Data, 7 and 8",
                "Turnbull 1976",
                "Frydman 1994, for lives that are followed late",
            ),
            modules=(
                "checks.rules.life",
                "checks.rules.survival",
                "checks.rules.life_told",
                "checks.rules.life_groups",
            ),
            limits=True,
        ),
        Method(
            key="study",
            name="analysis of a study",
            title="Measurement study: analysis of variance",
            in_short="How far repeats and technicians move a reading, from several technicians who read the same "
            "parts several times.",
            behind="The study's page has every reading as typed, and as CSV.",
            begin=STUDIES,
            sources=(
                "AIAG, Measurement Systems Analysis, 4th edition (from memory), whose worked example our tests compute",
                "ISO 5725, for the words",
            ),
            modules=("checks.measurement.study",),
            limits=True,
        ),
        Method(
            key="depots-compared",
            name="depots compared",
            title="Depots compared on the same units",
            in_short="Which depot reads differently, and by how much, where all have read the same units.",
            behind="Each study named has its readings as typed.",
            begin=STUDIES,
            sources=("NIST/SEMATECH e-Handbook of Statistical Methods, 7.4.3 and 7.4.7.3",),
            modules=("checks.measurement.depots",),
        ),
        Method(
            key="recall",
            name="judging again",
            title="Recall: judged again with the error found",
            in_short="Every check made with an instrument that was found beyond its permissible error is judged "
            "twice more: with the whole error, and with the share that had grown by then.",
            behind="The recall's page opens each check and the instrument with its certificates.",
            begin=RECALLS,
            sources=("Ours, no source; the judging is that of a check",),
            modules=("checks.rules.recall",),
        ),
    ),
)
