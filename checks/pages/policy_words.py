"""What a change of policy would do, in a sentence."""

from checks.display import day_text
from checks.selectors.policy_effect import PolicyEffect


def effect_sentence(found: PolicyEffect) -> str:
    """What the change would do to the whole fleet within the quarter."""
    fleet = found.fleet
    more = fleet.checks_then - fleet.checks_now
    checks = f"{abs(more):,} {'more' if more > 0 else 'fewer'} checks than now" if more else "as many checks as now"
    change = fleet.outside_then - fleet.outside_now
    rise = f"{abs(change):.1f} {'more' if change > 0 else 'fewer'} than now"
    outside = rise if abs(change) >= 0.05 else "as now"
    return (
        f"Until {day_text(found.until)}: {fleet.checks_then:,} checks, {checks}; and {fleet.outside_then:.1f} "
        f"unit-months outside the window to be expected, {outside}."
    )
