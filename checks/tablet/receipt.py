"""What a tablet is told once its check has arrived: the verdict that counts, and what differs from what it said."""

from collections.abc import Mapping
from typing import Any

from django.urls import reverse

from checks.components import Window, advice_sentence, verdict_sentence
from checks.components.state_word import STATE_WORDS
from checks.convert import result_from_json
from checks.display import day_text, in_own_units, void_text
from checks.measurement.result import Assessment as Result
from checks.models import Assessment, Check
from checks.selectors.check import current_assessments, other_checks
from checks.tablet.clock import clock_told, moment_of
from fleet.models import User

MOMENTS = {"as_found": "As found", "as_left": "As left"}


def receipt_of(check: Check, user: User, sent: Mapping[str, Any]) -> dict[str, Any]:
    """The answer to a check from a tablet; four queries.

    ``told`` holds every sentence that the technician should read, the most important first.
    """
    rows = {row.stroke.moment: row for row in current_assessments(check)}
    verdicts = [_verdict(moment, rows[moment], user) for moment in MOMENTS if moment in rows]
    provisional = sent.get("provisional")
    differences = _differences(verdicts, provisional if isinstance(provisional, dict) else {})
    others = _others(check, sent.get("sheet_made_at"))
    warned = [sentence for one in verdicts for sentence in one["warnings"]]
    others_told = [one["sentence"] for one in others]
    told = [*(one["sentence"] for one in differences), *warned, *others_told, *clock_told(check)]
    return {
        "check": check.pk,
        "key": str(check.key),
        "address": reverse("reports:check", args=[check.pk]),
        "photos": reverse("checks:photo_receive", args=[check.key]),
        "made_at": check.made_at.isoformat(),
        "received_at": check.recorded_at.isoformat(),
        "verdicts": verdicts,
        "differences": differences,
        "others": others,
        "told": told,
    }


def _verdict(moment: str, row: Assessment, user: User) -> dict[str, Any]:
    result, spec = result_from_json(row.result), row.specification
    window = Window.of(spec)
    return {
        "moment": moment,
        "state": row.state,
        "word": STATE_WORDS[row.state],
        "sentence": _sentence(result, window, user),
        "travel_mm": row.travel_mm,
        "expanded_mm": row.expanded_uncertainty_mm,
        "p_inside": row.p_inside,
        "unsafe": any(void.unsafe for void in result.voids),
        "repeat": [void.repeat for void in result.voids],
        "warnings": [in_own_units(told, user.pressure_unit, user.length_unit) for told in result.warnings],
        "advice": advice_sentence(result.advice, unit=user.length_unit) if row.state.startswith("outside") else "",
    }


def _sentence(result: Result, window: Window, user: User) -> str:
    if result.state.value != "void":
        return verdict_sentence(result, window, unit=user.length_unit)
    why = " ".join(void_text(void, user.pressure_unit, user.length_unit) for void in result.voids)
    return f"Void, there is no verdict. {why}".strip()


def _differences(verdicts: list[dict[str, Any]], provisional: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Where the tablet's own comparison said something else."""
    found = []
    for one in verdicts:
        said = provisional.get(one["moment"])
        state = said.get("state") if isinstance(said, dict) else said
        if state not in STATE_WORDS or state == one["state"]:
            continue
        sentence = (
            f"{MOMENTS[one['moment']]}: the tablet said '{STATE_WORDS[state]}', the server says '{one['word']}'. "
            "The server's verdict counts: it rests on the whole budget and on every reading."
        )
        found.append({"moment": one["moment"], "provisional": state, "state": one["state"], "sentence": sentence})
    return found


def _others(check: Check, sheet_made_at: Any) -> list[dict[str, Any]]:
    """Checks of the same unit that arrived between the tablet's data and this check: both are kept."""
    since = moment_of(sheet_made_at)
    if since is None:
        return []
    return [
        {
            "check": row.pk,
            "address": reverse("reports:check", args=[row.pk]),
            "made_at": row.made_at.isoformat(),
            "by": row.technician.display_name,
            "sentence": (
                f"{row.technician.display_name} also checked this unit, on {day_text(row.made_at.date())}, and that "
                "check arrived before yours. Both are kept; look at them together."
            ),
        }
        for row in other_checks(check, since=since)
    ]
