"""How long settings last, in words."""

from checks.measurement.units import convert
from checks.models.forecast import Basis
from checks.rules.life_told import TOO_FEW
from reports.charts.life import Group, Reach
from reports.selectors.life import Compared, LifePage, ModelLife
from reports.words.grammar import capital, listing

# Below this chance alone seldom sets groups so far apart (common practice).
SELDOM = 0.05
KIND_WORDS = {"model": "models", "depot": "depots", "origin": "new and reconditioned units", "setting": "settings"}


def usage_number(value: float) -> float:
    """Rounded as far as a life can be told: to thousands from 20,000 on, to hundreds from 2,000 on, else to tens."""
    step = 1000 if value >= 20_000 else 100 if value >= 2_000 else 10
    return step * round(value / step)


def usage_text(value: float, basis: Basis, distance_unit: str) -> str:
    """Such as ``84,000 km``, ``52,000 mi`` or ``1,700 h``."""
    if basis == Basis.HOURS:
        return f"{usage_number(value):,.0f} h"
    return f"{usage_number(convert(value, 'km', distance_unit)):,.0f} {distance_unit}"


def reach_text(row: Reach, basis: Basis, distance_unit: str) -> str:
    """Such as ``84,000 km (61,000 to 109,000 km)``; a side without a bound says so."""
    return f"{usage_text(row.usage, basis, distance_unit)} ({limits_text(row, basis, distance_unit)})"


def limits_text(row: Reach, basis: Basis, distance_unit: str) -> str:
    """Such as ``61,000 to 109,000 km``."""
    low = usage_text(row.low, basis, distance_unit)
    if row.high is None:
        return f"{low} or more, no upper limit"
    return f"{low.rsplit(' ', 1)[0]} to {usage_text(row.high, basis, distance_unit)}"


def why_not(group: Group) -> str:
    """Why a group has no B10, such as ``too few: 3 events``."""
    if group.reason == "too few":
        return f"too few: {group.events} event{'' if group.events == 1 else 's'}"
    return "its checks fit no shape" if group.reason else ""


def life_sentence(page: LifePage, model: ModelLife | None, distance_unit: str) -> str:
    """The page's first: ``10 % of ... have left their window by 84,000 km (61,000 to 109,000 km).``"""
    if model is None:
        return "How long settings stay inside their window cannot be told yet: no unit was checked twice."
    whole = model.whole
    if whole.b10 is None:
        if whole.reason == "too few":
            return (
                f"How long {whole.name} stay inside their window cannot be told yet: {whole.events} of "
                f"{whole.lives:,} settings were seen to leave it, and it takes {TOO_FEW}."
            )
        return f"How long {whole.name} stay inside their window cannot be told: their checks fit no shape of life."
    beyond = ""
    if whole.b10.usage > whole.longest:
        beyond = f", which lies beyond the longest use seen, {usage_text(whole.longest, page.basis, distance_unit)}"
    return f"10 % of {whole.name} have left their window by {reach_text(whole.b10, page.basis, distance_unit)}{beyond}."


def shape_sentence(group: Group) -> str:
    """Whether they leave early or late, by the shape of the curve and its limits."""
    low, high = group.beta_limits
    if group.b10 is None:
        return ""
    if high < 1:
        return "They leave early rather than late: look at how they are set and fitted."
    if low > 1:
        return "They leave more often the longer they run."
    return "Whether they leave early or late cannot be told yet."


def compared_sentence(found: Compared | None, groups: tuple[Group, ...], kind: str) -> str:
    """Do they differ? With what chance alone would do; why not where it cannot be told."""
    few = [group.name for group in groups if group.reason == "too few"]
    if found is None:
        if len(groups) < 2:
            return ""
        said = f"Whether {KIND_WORDS[kind]} differ cannot be told: too few were seen outside ({listing(few)})."
        return said if few else ""
    names = listing(found.named) if found.whole else f"{KIND_WORDS[kind]}, some of which you do not see,"
    if found.p >= SELDOM:
        return f"Between {names} no difference can be told: chance alone sets them so far apart in {_often(found.p)}."
    order = sorted((row.b10.usage, row.name) for row in groups if row.b10)
    first = f" By B10 {order[0][1]} are the first to leave." if found.whole and len(order) > 1 else ""
    return f"{capital(names)} differ by more than chance explains, which does so in {_often(found.p)}.{first}"


def tested_sentence(found: Compared | None) -> str:
    """The numbers behind a comparison, for the method."""
    if found is None:
        return ""
    by_scores = (
        f"; by scores, without a shape (Finkelstein 1986), {_p(found.p_scores)}" if found.p_scores is not None else ""
    )
    return f"χ² {found.statistic:.2f} with {found.dof} degrees of freedom, {_p(found.p)}{by_scores}."


def _p(p: float) -> str:
    return f"p {p:.3f}" if p >= 0.001 else "p below 0.001"


def _often(p: float) -> str:
    """Such as ``34 of 100 cases``, ``3 of 1,000 cases``."""
    if p >= 0.01:
        return f"{100 * p:.0f} of 100 cases"
    return f"{1000 * p:.0f} of 1,000 cases" if p >= 0.001 else "fewer than 1 of 1,000 cases"
