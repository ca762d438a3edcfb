"""How long settings stay inside their window, from the fits that counted when the review was run."""

from collections.abc import Iterator

from checks.models.forecast import Basis
from checks.selectors.policy import current_policy
from fleet.models import Depot
from reports.charts.life import Group
from reports.export.frozen import Chart, Column, Table, Value, table
from reports.review.records import Records
from reports.selectors.life import KINDS, LifePage, life_of
from reports.sentences.life import compared_sentence, why_not

UNITS = {Basis.KM: "km", Basis.HOURS: "h"}


def life_table(records: Records) -> Table:
    """B10 of each model and of its groups, in both usages, the policy's first."""
    pages = _pages(records)
    rows = [_row(page, group) for page in pages for group in _groups(page)]
    return table(
        "life",
        "Life until outside",
        "Use after which 10 % of settings have left their window, from checks that found them inside or outside.",
        (
            Column("model", "model", "Turbocharger model."),
            Column("grouped_by", "by", "What sets the group apart: model, depot, origin or setting."),
            Column("group", "group", "The group."),
            Column("counted_in", "in", "Unit of use: km or engine hours (h)."),
            Column("settings", "settings", "Settings followed: from a fitting or an adjustment on.", "number"),
            Column("seen_outside", "outside", "Of these, seen to leave their window.", "number"),
            Column("b10", "B10", "Use by which 10 % have left.", "number"),
            Column("b10_low_limit", "95 % from", "Its lower 95 % limit.", "number"),
            Column("b10_high_limit", "95 % to", "Its upper 95 % limit; empty where the records set none.", "number"),
            Column("shape", "shape", "Weibull shape; above 1 they leave more often the longer they run.", "number",
                   places=2),
            Column("longest", "longest", "Longest use seen; B10 beyond it rests on the shape alone.", "number"),
            Column("why_not", "not told", "Why there is no B10."),
        ),
        rows,
        note="Fitted over the whole fleet when the review was run. The setting that a unit came with and those made by "
        "adjustments are lives of their own; new and reconditioned units are told apart by the former.",
        chart=Chart("range", "model", ("b10", "b10_low_limit", "b10_high_limit"), "B10 with 95 % limits",
                    UNITS[pages[0].basis], where=(("grouped_by", "model"), ("counted_in", UNITS[pages[0].basis]))),
    )  # fmt: skip


def life_comparison_table(records: Records) -> Table:
    """Do groups differ? One row a comparison."""
    rows = [row for page in _pages(records) for row in _comparisons(page)]
    return table(
        "life_comparisons",
        "Lives compared",
        "Whether models, depots, new and reconditioned units or settings leave their window at different use.",
        (
            Column("compared", "compared", "What is compared: models, or groups of the model named."),
            Column("grouped_by", "by", "What sets the groups apart."),
            Column("counted_in", "in", "Unit of use."),
            Column("statistic", "χ²", "Likelihood ratio of one Weibull life for all against one for each.", "number",
                   places=2),
            Column("dof", "degrees of freedom", "Degrees of freedom of χ².", "number"),
            Column("p", "p", "How often chance alone sets them so far apart.", "number", places=4),
            Column("p_scores", "p by scores", "The same without a shape, where all were followed from the beginning.",
                   "number", places=4),
            Column("said", "in words", "The comparison in words."),
        ),
        rows,
        note="With several comparisons one in twenty comes out apart by chance alone. Depots differ in their trucks "
        "and work as well as in their care.",
    )  # fmt: skip


def _pages(records: Records) -> list[LifePage]:
    depots = [records.depot] if records.depot else list(Depot.objects.all())
    first = Basis(current_policy().usage_basis)
    return [life_of(depots, basis=basis) for basis in sorted(Basis, key=lambda basis: basis != first)]


def _groups(page: LifePage) -> Iterator[Group]:
    """Models first, so that what is drawn stands together."""
    yield from (model.whole for model in page.models)
    for model in page.models:
        for kind in KINDS:
            yield from model.groups[kind]


def _row(page: LifePage, group: Group) -> tuple[Value, ...]:
    b10 = group.b10
    told = (b10.usage, b10.low, b10.high, group.beta) if b10 else (None,) * 4
    return (
        group.model, group.kind, group.name, UNITS[page.basis], group.lives, group.events, *told, group.longest,
        why_not(group),
    )  # fmt: skip


def _comparisons(page: LifePage) -> Iterator[tuple[Value, ...]]:
    found = [("models", "model", page.compared, tuple(model.whole for model in page.models))]
    found += [
        (model.whole.name, kind, model.compared.get(kind), model.groups[kind])
        for model in page.models
        for kind in KINDS
    ]
    for name, kind, one, groups in found:
        if one is not None:
            said = compared_sentence(one, groups, kind)
            yield name, kind, UNITS[page.basis], one.statistic, one.dof, one.p, one.p_scores, said
