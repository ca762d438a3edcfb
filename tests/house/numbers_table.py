"""Which page shows which computed numbers: the table that the test of the vocabulary holds every page to.

An address of a page is either in SHOWN, with the template of the page and the methods that it must lead to, or its
page shows nothing computed and it is in PLAIN.
"""

SHOWN: dict[str, tuple[str, str]] = {
    "reports:board": (
        "reports/board.html",
        "travel verdict drift chance-outside see-again fuel-effect",
    ),
    "reports:unit": (
        "reports/unit.html",
        "travel verdict drift chance-outside jumps see-again adjusted-fuel thirst before-and-after",
    ),
    "reports:check": (
        "reports/check.html",
        "travel verdict slope start-of-travel hysteresis sticking leak-down adjustment",
    ),
    "reports:check_sheet": ("reports/check_sheet.html", "travel verdict adjustment"),
    "reports:due": ("reports/due.html", "see-again verdict"),
    "reports:week": ("reports/week.html", "levelling see-again chance-outside"),
    "reports:week_sheets": ("reports/week_sheets.html", "travel see-again fitness"),
    "reports:models": ("reports/models.html", "drift jumps batches chance-outside"),
    "reports:model": ("reports/model.html", "drift chance-outside jumps batches"),
    "reports:intervals": ("reports/intervals.html", "intervals shares"),
    "reports:fuel": ("reports/fuel.html", "adjusted-fuel fuel-effect fuel-cost thirst"),
    "reports:restored": ("reports/restored.html", "before-and-after adjusted-fuel"),
    "reports:life": ("reports/life.html", "life"),
    "reports:complaint": ("reports/complaint.html", "complaint-evidence chance-outside adjusted-fuel thirst"),
    "reports:complaint_study": ("reports/complaint_study.html", "complaint-odds"),
    "reports:review": (
        "reports/review.html",
        "verdict shares drift see-again intervals fuel-effect fuel-cost life complaint-odds study recall",
    ),
    "reports:study": ("reports/study.html", "study depots-compared"),
    "reports:blank_sheets": ("reports/blank_sheets.html", "travel"),
    "checks:find": ("checks/guided/find.html", "verdict see-again"),
    "checks:step": ("checks/guided/verdict.html", "travel verdict adjustment"),
    "checks:fitness": ("checks/instrument_fitness.html", "fitness travel"),
    "checks:policy": ("checks/policy.html", "verdict fitness study see-again policy-effect"),
    "checks:recall": ("checks/recall.html", "recall verdict"),
    "checks:recall_letter": ("checks/recall_letter.html", "recall verdict"),
    "checks:studies": ("checks/studies.html", "depots-compared"),
}

# What is typed, counted or listed; and pages that explain. Pages of the register are plain throughout.
PLAIN_SPACES = ("fleet:", "jobs:", "api-")
PLAIN = {
    "docs", "checks:words", "checks:methods",
    "reports:complaints", "reports:reviews", "reports:review_progress", "reports:weeks", "reports:labels",
    "reports:label_sheet", "reports:study_sheet", "reports:upkeep", "reports:first_steps", "reports:tour",
    "reports:guides", "reports:guide",
    "checks:specifications", "checks:specification", "checks:instruments", "checks:instrument",
    "checks:instrument_add", "checks:recalls", "checks:fuel_prices", "checks:amend", "checks:safety_flag",
}  # fmt: skip
