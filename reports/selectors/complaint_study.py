"""The study of complaints against travel, as its page shows it: the whole fleet's odds, the viewer's own lists."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from checks.models import ComplaintStudy
from checks.selectors.complaint_study import current_study
from checks.selectors.days import first_day
from fleet.models import Complaint, Depot, Truck, Turbocharger, TurbochargerModel, User
from fleet.selectors.scope import visible_to
from reports.selectors.depots import depots_by_name

LAGS = range(7)
USUAL_LAG = 2
OUTCOMES = {"l": "outside_low", "h": "outside_high", "i": "inside", "u": ""}
# A list longer than this is worked through from the file.
LONGEST = 50


@dataclass(frozen=True, slots=True, kw_only=True)
class Ratio:
    """An odds ratio with its limits; ``estimate`` and ``high`` are None where there is no bound, and nothing is
    ``told`` where no stratum had both sides."""

    estimate: float | None
    low: float
    high: float | None
    p: float | None
    method: str
    told: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Heard:
    """A complaint with what travel did within the lag: a state, empty where unknown; one letter for each lag."""

    pk: int
    truck: str
    depot: str
    raised_on: date
    letters: str
    state: str
    closed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Quiet:
    """A truck that is thirsty and outside up to its last month, and about which nobody complained."""

    truck_pk: int
    truck: str
    depot: str
    unit: int | None
    serial: str
    since: date
    last: date
    state: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Stratum:
    """Truck-months of one model at one depot, with and without a complaint."""

    model: str
    depot: str
    outside_asked: int
    outside_not: int
    inside_asked: int
    inside_not: int


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyPage:
    """Everything that the page shows; ``made_at`` is None where there is no study yet."""

    lag: int
    made_at: datetime | None = None
    first: date | None = None
    last: date | None = None
    trucks: int = 0
    cells: int = 0
    code_version: str = ""
    ratios: dict[str, Ratio]
    by_lag: list[tuple[int, Ratio]]
    heard: list[Heard]
    silent: list[Quiet]
    strata: list[Stratum]
    whole_fleet: bool

    def of_outcome(self, outcome: str) -> list[Heard]:
        """Complaints that are explained, unexplained or unknown."""
        wanted = {"explained": {"outside_low", "outside_high"}, "unexplained": {"inside"}, "unknown": {""}}[outcome]
        return [row for row in self.heard if row.state in wanted]


def study_page(*, user: User, lag: int = USUAL_LAG) -> StudyPage:
    """The current study at one lag. Seven queries, whatever the size of the fleet's lists."""
    study, depots = current_study(), depots_by_name(user)
    everything = len(depots) == Depot.objects.count()
    if study is None:
        return StudyPage(lag=lag, ratios={}, by_lag=[], heard=[], silent=[], strata=[], whole_fleet=everything)
    chosen = study.lags[lag]
    return StudyPage(
        lag=lag,
        made_at=study.made_at,
        first=first_day(study.first_month),
        last=first_day(study.last_month),
        trucks=study.trucks,
        cells=study.cells,
        code_version=study.code_version,
        ratios={side: ratio_of(chosen[side]) for side in ("overall", "low", "high")},
        by_lag=[(row["lag"], ratio_of(row["overall"])) for row in study.lags],
        heard=_heard(user, study, lag),
        silent=_silent(user, study),
        strata=_strata(chosen["tables"], depots),
        whole_fleet=everything,
    )


def ratio_of(kept: dict[str, Any]) -> Ratio:
    """As kept: null stands for what has no bound."""
    told = kept["strata"] > 0 and not (kept["low"] in (None, 0.0) and kept["high"] is None)
    return Ratio(
        estimate=kept["estimate"], low=kept["low"] or 0.0, high=kept["high"], p=kept["p"], method=kept["method"],
        told=told,
    )  # fmt: skip


def _heard(user: User, study: ComplaintStudy, lag: int) -> list[Heard]:
    """Those of the viewer's depots, the latest first."""
    letters = {pk: said for pk, _, said in study.complaints}
    rows = visible_to(user, Complaint.objects.filter(kind=Complaint.Kind.FUEL), depot="truck__depot")
    columns = ("pk", "truck__unit_number", "truck__depot__name", "raised_on", "closed_on")
    return [
        Heard(
            pk=pk, truck=truck, depot=depot, raised_on=raised_on, letters=letters[pk],
            state=OUTCOMES[letters[pk][lag]], closed=closed_on is not None,
        )
        for pk, truck, depot, raised_on, closed_on in rows.order_by("-raised_on", "-pk").values_list(*columns)
        if pk in letters
    ]  # fmt: skip


def _silent(user: User, study: ComplaintStudy) -> list[Quiet]:
    """Those of the viewer's depots, the longest first."""
    named = [row[0] for row in study.silent]
    trucks = {row.pk: row for row in visible_to(user, Truck.objects.filter(pk__in=named)).select_related("depot")}
    serials = dict(
        Turbocharger.objects.filter(pk__in=[row[1] for row in study.silent if row[1]]).values_list("pk", "serial")
    )
    rows = [
        Quiet(
            truck_pk=truck, truck=trucks[truck].unit_number, depot=trucks[truck].depot.name, unit=unit,
            serial=serials.get(unit, ""), since=first_day(since), last=first_day(last), state=OUTCOMES[letter],
        )
        for truck, unit, since, last, letter in study.silent
        if truck in trucks
    ]  # fmt: skip
    return sorted(rows, key=lambda row: (row.since, row.truck))


def _strata(tables: Sequence[dict[str, Any]], depots: Sequence[Depot]) -> list[Stratum]:
    """Strata of the viewer's depots."""
    models = dict(TurbochargerModel.objects.values_list("pk", "name"))
    names = {depot.pk: depot.name for depot in depots}
    rows = [
        Stratum(
            model=models.get(table["model"], "model not known"), depot=names[table["depot"]],
            outside_asked=table["cells"][0], outside_not=table["cells"][1],
            inside_asked=table["cells"][2], inside_not=table["cells"][3],
        )
        for table in tables
        if table["depot"] in names
    ]  # fmt: skip
    return sorted(rows, key=lambda row: (row.depot, row.model))
