"""Who may open and who may write at each address: the table that the access test holds the project to.

A new address needs one line here. `outsider` manages another depot; a set without outsider is scoped to the depot.
`colleague` is a second technician of the same depot, who has begun and asked for nothing.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from checks.selectors.label import label_code

VIEWER, TECHNICIAN, COLLEAGUE, MANAGER, OUTSIDER = "viewer", "technician", "colleague", "manager", "outsider"
OPERATOR = "operator"
HERE = frozenset({VIEWER, TECHNICIAN, COLLEAGUE, MANAGER})
EVERYONE = HERE | {OUTSIDER}
WORKERS = HERE - {VIEWER}
ANY_WORKER = WORKERS | {OUTSIDER}
MANAGERS = frozenset({MANAGER})
ANY_MANAGER = MANAGERS | {OUTSIDER}
OWN = frozenset({TECHNICIAN})
OWN_OR_MANAGER = OWN | MANAGERS
NOBODY: frozenset[str] = frozenset()
# Whoever runs the installation; asked only where a rule names it, since it may open whatever there is.
OPERATORS = frozenset({OPERATOR})


@dataclass(frozen=True)
class Rule:
    """Who may GET, who may POST, and the words of the address, made from the test's world."""

    reads: frozenset[str]
    writes: frozenset[str] = NOBODY
    words: Callable[[Any], dict[str, Any]] = field(default=lambda world: {})


def of(name: str) -> Callable[[Any], dict[str, Any]]:
    """Take the key of one of the world's rows."""
    return lambda world: {"pk": getattr(world, name).pk}


def depot_code(world: Any) -> dict[str, Any]:
    """Take the code of the world's depot."""
    return {"code": world.depot.code}


# Nobody needs to be signed in for these; the calendar and the metrics ask for their secrets.
OPEN = {
    "health", "health_live", "health_ready", "metrics", "login", "second_step", "admin_sign_in", "logout",
    "reports:calendar",
    # Only while nobody can sign in.
    "fleet:begin",
    # The tablet's app without anybody's data; who is signed in is told to whoever asks.
    "checks:tablet", "checks:tablet_worker", "checks:tablet_manifest", "checks:tablet_session",
}  # fmt: skip
# Read by scripts, which are told in JSON that nobody is signed in.
FOR_SCRIPTS = {"checks:tablet_sheet", "checks:tablet_receive", "checks:photo_receive"}

RULES: dict[str, Rule] = {
    "api-schema": Rule(EVERYONE),
    "docs": Rule(EVERYONE),
    "api-checks": Rule(EVERYONE, ANY_WORKER),
    "api-check": Rule(HERE, words=of("check")),
    "api-assessments": Rule(HERE, words=of("check")),
    "api-due": Rule(EVERYONE),
    "api-forecasts": Rule(EVERYONE),
    "api-forecast": Rule(HERE, words=lambda world: {"turbocharger": world.forecast.turbocharger_id}),
    "api-plans": Rule(EVERYONE),
    "api-plan-move": Rule(NOBODY, MANAGERS, of("turbocharger")),
    "api-specifications": Rule(EVERYONE, ANY_MANAGER),
    "api-specification": Rule(EVERYONE, words=of("specification")),
    "api-instruments": Rule(EVERYONE, ANY_MANAGER),
    "api-instrument": Rule(HERE, words=of("dial")),
    "api-certificates": Rule(HERE, MANAGERS, of("dial")),
    "api-studies": Rule(EVERYONE),
    "api-study": Rule(HERE, words=of("study")),
    "api-policy": Rule(EVERYONE),
    "api-depots": Rule(EVERYONE, ANY_MANAGER),
    "api-depot": Rule(HERE, words=of("depot")),
    "api-trucks": Rule(EVERYONE, ANY_MANAGER),
    "api-truck": Rule(HERE, words=of("truck")),
    "api-engines": Rule(EVERYONE, ANY_MANAGER),
    "api-engine": Rule(HERE, words=of("engine")),
    "api-install": Rule(NOBODY, WORKERS, of("engine")),
    "api-uninstall": Rule(NOBODY, WORKERS, of("engine")),
    "api-models": Rule(EVERYONE, ANY_MANAGER),
    "api-model": Rule(EVERYONE, words=of("model")),
    "api-turbochargers": Rule(EVERYONE, ANY_MANAGER),
    "api-turbocharger": Rule(HERE, words=of("turbocharger")),
    "api-fit": Rule(NOBODY, WORKERS, of("turbocharger")),
    "api-remove": Rule(NOBODY, WORKERS, of("turbocharger")),
    "api-swap": Rule(NOBODY, WORKERS, of("turbocharger")),
    "api-fitments": Rule(EVERYONE),
    "api-meter-readings": Rule(EVERYONE, ANY_WORKER),
    "api-complaints": Rule(EVERYONE, ANY_WORKER),
    "api-complaint": Rule(HERE, words=of("complaint")),
    "api-complaint-close": Rule(NOBODY, MANAGERS, of("complaint")),
    "api-fuel-prices": Rule(EVERYONE, ANY_MANAGER),
    "api-notes": Rule(EVERYONE, ANY_WORKER),
    "api-trips": Rule(EVERYONE),
    "api-trip-batches": Rule(NOBODY, ANY_MANAGER),
    "api-trip-imports": Rule(EVERYONE),
    "api-trip-import": Rule(MANAGERS, words=lambda world: {"key": world.trips_tried.pk}),
    "api-trip-refused": Rule(MANAGERS, words=lambda world: {"key": world.trips_tried.pk}),
    "api-job": Rule(OWN, words=of("job")),
    "api-reviews": Rule(EVERYONE, EVERYONE),
    "api-review": Rule(HERE, words=of("review")),
    "api-review-file": Rule(HERE, words=lambda world: {"pk": world.review.pk, "kind": "zip"}),
    "jobs:list": Rule(EVERYONE),
    "jobs:job": Rule(OWN, words=lambda world: {"job_id": world.job.pk}),
    "jobs:progress": Rule(OWN, words=lambda world: {"job_id": world.job.pk}),
    "jobs:cancel": Rule(NOBODY, OWN, lambda world: {"job_id": world.job.pk}),
    "jobs:retry": Rule(NOBODY, OWN, lambda world: {"job_id": world.job.pk}),
    # Only a demonstration has it: tests/reports/test_tour.py opens it there.
    "reports:tour": Rule(NOBODY),
    "reports:upkeep": Rule(OPERATORS),
    "reports:upkeep_retry": Rule(NOBODY, OPERATORS, lambda world: {"job_id": world.job.pk}),
    "reports:first_steps": Rule(ANY_MANAGER),
    "reports:guides": Rule(EVERYONE),
    "reports:guide": Rule(EVERYONE, words=lambda world: {"key": "technician"}),
    "reports:board": Rule(EVERYONE),
    "reports:due": Rule(EVERYONE),
    "reports:complaints": Rule(EVERYONE),
    "reports:complaint_study": Rule(EVERYONE),
    "reports:complaint_study_file": Rule(EVERYONE),
    "reports:complaint": Rule(HERE, words=of("complaint")),
    "reports:fuel": Rule(EVERYONE),
    "reports:fuel_file": Rule(EVERYONE),
    "reports:life": Rule(EVERYONE),
    "reports:life_file": Rule(EVERYONE),
    "reports:lives_file": Rule(EVERYONE),
    "reports:restored": Rule(EVERYONE),
    "reports:restored_file": Rule(EVERYONE),
    "reports:reviews": Rule(EVERYONE, EVERYONE),
    "reports:review": Rule(HERE, words=of("review")),
    "reports:review_progress": Rule(HERE, words=of("review")),
    "reports:review_file": Rule(HERE, words=lambda world: {"pk": world.review.pk, "kind": "zip"}),
    "reports:study": Rule(HERE, words=of("study")),
    "reports:study_sheet": Rule(HERE, words=of("study")),
    "reports:study_file": Rule(HERE, words=lambda world: {"pk": world.study.pk, "kind": "variance"}),
    "reports:models": Rule(EVERYONE),
    "reports:model": Rule(EVERYONE, words=of("model")),
    "reports:intervals": Rule(EVERYONE),
    "reports:blank_sheets": Rule(EVERYONE),
    "reports:labels": Rule(ANY_MANAGER),
    "reports:label_sheet": Rule(ANY_MANAGER),
    "reports:unit": Rule(HERE, words=of("turbocharger")),
    "reports:weeks": Rule(EVERYONE),
    "reports:week": Rule(HERE, words=depot_code),
    "reports:week_sheets": Rule(HERE, words=depot_code),
    "reports:week_move": Rule(NOBODY, MANAGERS, depot_code),
    "reports:week_undo": Rule(NOBODY, MANAGERS, depot_code),
    "reports:week_plan": Rule(NOBODY, MANAGERS, depot_code),
    "reports:check": Rule(HERE, words=of("check")),
    "reports:check_sheet": Rule(HERE, words=of("check")),
    "fleet:register": Rule(EVERYONE),
    "fleet:me": Rule(EVERYONE, EVERYONE),
    "fleet:feed_renew": Rule(NOBODY, EVERYONE),
    "fleet:feed_end": Rule(NOBODY, EVERYONE),
    "fleet:password": Rule(EVERYONE, EVERYONE),
    "fleet:second_factor": Rule(EVERYONE, EVERYONE),
    "fleet:sessions_end": Rule(NOBODY, EVERYONE),
    "fleet:tokens": Rule(EVERYONE),
    "fleet:token_add": Rule(EVERYONE, EVERYONE),
    "fleet:token_revoke": Rule(OWN_OR_MANAGER, OWN_OR_MANAGER, of("token")),
    "fleet:depots": Rule(EVERYONE),
    "fleet:depot_add": Rule(ANY_MANAGER, ANY_MANAGER),
    "fleet:depot_edit": Rule(MANAGERS, MANAGERS, of("depot")),
    "fleet:people": Rule(EVERYONE),
    "fleet:person_add": Rule(ANY_MANAGER, ANY_MANAGER),
    "fleet:person_role": Rule(MANAGERS, MANAGERS, of("membership")),
    "fleet:person_end": Rule(MANAGERS, MANAGERS, of("membership")),
    "fleet:trucks": Rule(EVERYONE),
    "fleet:truck_add": Rule(ANY_MANAGER, ANY_MANAGER),
    "fleet:truck": Rule(HERE, words=of("truck")),
    "fleet:truck_edit": Rule(MANAGERS, MANAGERS, of("truck")),
    "fleet:meter_add": Rule(WORKERS, WORKERS, of("truck")),
    "fleet:engines": Rule(EVERYONE),
    "fleet:engine_add": Rule(ANY_MANAGER, ANY_MANAGER),
    "fleet:engine": Rule(HERE, words=of("engine")),
    "fleet:engine_edit": Rule(MANAGERS, MANAGERS, of("engine")),
    "fleet:install": Rule(WORKERS, WORKERS, of("engine")),
    "fleet:uninstall": Rule(WORKERS, WORKERS, of("engine")),
    "fleet:models": Rule(EVERYONE),
    "fleet:model_add": Rule(ANY_MANAGER, ANY_MANAGER),
    "fleet:model": Rule(EVERYONE, words=of("model")),
    "fleet:model_edit": Rule(ANY_MANAGER, ANY_MANAGER, of("model")),
    "fleet:turbochargers": Rule(EVERYONE),
    "fleet:turbocharger_add": Rule(ANY_MANAGER, ANY_MANAGER),
    "fleet:turbocharger": Rule(HERE, words=of("turbocharger")),
    "fleet:turbocharger_edit": Rule(MANAGERS, MANAGERS, of("turbocharger")),
    "fleet:fit": Rule(WORKERS, WORKERS, of("turbocharger")),
    "fleet:remove": Rule(WORKERS, WORKERS, of("turbocharger")),
    "fleet:swap": Rule(WORKERS, WORKERS, of("turbocharger")),
    "fleet:note_add": Rule(WORKERS, WORKERS, of("turbocharger")),
    "fleet:trips": Rule(EVERYONE),
    "fleet:trip_list": Rule(EVERYONE),
    "fleet:trips_bring": Rule(ANY_MANAGER, ANY_MANAGER),
    "fleet:trip_reading": Rule(MANAGERS, MANAGERS, lambda world: {"key": world.trips.pk}),
    "fleet:trip_run": Rule(MANAGERS, MANAGERS, lambda world: {"key": world.trips_tried.pk}),
    "fleet:trip_progress": Rule(MANAGERS, words=lambda world: {"key": world.trips_tried.pk}),
    "fleet:trip_refused": Rule(MANAGERS, words=lambda world: {"key": world.trips_tried.pk}),
    "fleet:import": Rule(ANY_MANAGER, ANY_MANAGER),
    "fleet:import_report": Rule(MANAGERS, MANAGERS, lambda world: {"key": world.trial.key}),
    "fleet:import_refused": Rule(MANAGERS, words=lambda world: {"key": world.trial.key}),
    "fleet:import_empty": Rule(ANY_MANAGER, words=lambda world: {"kind": "register"}),
    "checks:find": Rule(ANY_WORKER),
    "checks:label": Rule(HERE, words=lambda world: {"code": label_code(world.turbocharger)}),
    "checks:photo": Rule(HERE, words=lambda world: {"key": world.photo.key}),
    "checks:photo_add": Rule(NOBODY, WORKERS, of("check")),
    "checks:photo_receive": Rule(NOBODY, WORKERS, lambda world: {"key": world.check.key}),
    "checks:quick": Rule(WORKERS, WORKERS, of("turbocharger")),
    "checks:begin": Rule(NOBODY, WORKERS, of("turbocharger")),
    "checks:step": Rule(
        OWN_OR_MANAGER, OWN_OR_MANAGER, lambda world: {"key": world.draft.key, "step": world.draft.step}
    ),
    "checks:discard": Rule(NOBODY, OWN_OR_MANAGER, lambda world: {"key": world.draft.key}),
    "checks:complaint_file": Rule(WORKERS, WORKERS, of("truck")),
    "checks:complaint_file_unit": Rule(WORKERS, WORKERS, of("turbocharger")),
    "checks:complaint_amend": Rule(WORKERS, WORKERS, of("complaint")),
    "checks:complaint_close": Rule(MANAGERS, MANAGERS, of("complaint")),
    "checks:tablet_sheet": Rule(ANY_WORKER),
    "checks:tablet_receive": Rule(NOBODY, ANY_WORKER),
    "checks:amend": Rule(OWN_OR_MANAGER, OWN_OR_MANAGER, of("check")),
    "checks:rejudge": Rule(NOBODY, ANY_MANAGER, of("specification")),
    "checks:safety_flag": Rule(WORKERS, WORKERS, of("turbocharger")),
    "checks:specifications": Rule(EVERYONE),
    "checks:specification": Rule(EVERYONE, words=of("specification")),
    "checks:specification_add": Rule(ANY_MANAGER, ANY_MANAGER, of("model")),
    "checks:specification_revise": Rule(ANY_MANAGER, ANY_MANAGER, of("specification")),
    "checks:specification_correct": Rule(ANY_MANAGER, ANY_MANAGER, of("specification")),
    "checks:specification_end": Rule(ANY_MANAGER, ANY_MANAGER, of("specification")),
    "checks:fitness": Rule(EVERYONE),
    "checks:instruments": Rule(EVERYONE),
    "checks:instrument": Rule(HERE, words=of("dial")),
    "checks:instrument_add": Rule(ANY_MANAGER),
    "checks:instrument_add_kind": Rule(ANY_MANAGER, ANY_MANAGER, lambda world: {"kind": "dial"}),
    "checks:instrument_edit": Rule(MANAGERS, MANAGERS, of("dial")),
    "checks:instrument_withdraw": Rule(MANAGERS, MANAGERS, of("dial")),
    "checks:instrument_bring_back": Rule(MANAGERS, MANAGERS, of("dial")),
    "checks:certificate_add": Rule(MANAGERS, MANAGERS, of("dial")),
    "checks:certificate_supersede": Rule(
        MANAGERS,
        MANAGERS,
        lambda world: {"pk": world.dial.pk, "certificate": world.dial.certificates.latest("issued_on").pk},
    ),
    "api-recalls": Rule(EVERYONE),
    "api-recall": Rule(HERE, words=of("recall")),
    "checks:studies": Rule(EVERYONE),
    "checks:study_plan": Rule(ANY_MANAGER, ANY_MANAGER),
    "checks:study_read": Rule(WORKERS, WORKERS, of("study_begun")),
    "checks:study_amend": Rule(WORKERS, WORKERS, lambda world: {"pk": world.study.pk, "place": 1}),
    "checks:study_set_aside": Rule(MANAGERS, MANAGERS, of("study_begun")),
    "checks:study_publish": Rule(MANAGERS, MANAGERS, of("study")),
    "checks:study_withdraw": Rule(MANAGERS, MANAGERS, of("study")),
    "checks:recalls": Rule(EVERYONE),
    "checks:recall": Rule(HERE, words=of("recall")),
    "checks:recall_letter": Rule(HERE, words=of("recall")),
    "checks:recall_day": Rule(MANAGERS, MANAGERS, of("recall")),
    "checks:recall_close": Rule(MANAGERS, MANAGERS, of("recall")),
    "checks:recall_accept": Rule(
        MANAGERS, MANAGERS, lambda world: {"pk": world.recall.pk, "unit": world.turbocharger.pk}
    ),
    "checks:fuel_prices": Rule(EVERYONE),
    "checks:fuel_price_add": Rule(ANY_MANAGER, ANY_MANAGER),
    "checks:fuel_price_amend": Rule(MANAGERS, MANAGERS, of("fuel_price")),
    "checks:policy": Rule(EVERYONE, ANY_MANAGER),
    "checks:words": Rule(EVERYONE),
    "checks:methods": Rule(EVERYONE),
}
