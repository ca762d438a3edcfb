"""Units as lists show them: place, state, strip, last check, when to see again."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Exists, OuterRef
from django.utils import timezone

from checks.components import ForecastToday, Window, WindowStrip
from checks.display import chance_text, plan_text
from checks.rules.fuel_cost import limits
from checks.selectors.recalled import suspect_strokes
from checks.selectors.specification import revisions_in_force
from fleet.models import Turbocharger, User
from fleet.selectors.clock import day_in
from reports.selectors.judged import Judged, judged_strokes, strip_of
from reports.selectors.places import Place, places_of
from reports.words.drift import drift_text, rests_on
from reports.words.fuel import more_fuel

NEVER = "never_checked"
LEAVING = "leaving"
COLUMNS = (
    "pk",
    "serial",
    "safety_flag",
    "depot__name",
    "depot__time_zone",
    "model",
    "model__name",
    "standing__state",
    "standing__due_on",
    "standing__binding_rule",
    "standing__sentence",
    "standing__rules",
    "standing__last_check",
    "standing__last_check__made_at",
    "standing__leaving",
    "standing__p_outside_now",
    "forecast__travel_now_mm",
    "forecast__travel_now_sd_mm",
    "forecast__drift_mm",
    "forecast__drift_u_mm",
    "forecast__readings",
    "forecast__jumped",
    "forecast__fit__basis",
    "fuel_loss__effect",
    "fuel_loss__effect_se",
    "fuel_loss__dof",
    "fuel_loss__told",
    "fuel_loss__month",
    "fuel_loss__fit__last_month",
)
# A unit whose last month of trips lies farther back than this says nothing of today.
FUEL_MONTHS = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitRow:
    """One turbocharger in a list."""

    pk: int
    serial: str
    unit_number: str
    position: str
    depot: str
    model: str
    state: str
    overdue: bool
    due_on: date | None
    binding_rule: str
    why: str
    last_check: int | None
    last_checked_on: date | None
    safety_flag: str
    strip: WindowStrip | None
    drift: str = ""
    drift_basis: str = ""
    chance: str = ""
    jumped: bool = False
    recalled: bool = False
    fuel: str = ""

    @property
    def name(self) -> str:
        """What people call it: the truck's unit number, or the serial number while it is in no truck."""
        return self.unit_number or self.serial

    @property
    def rule(self) -> str:
        """The rule that binds, in words."""
        return self.binding_rule.replace("_", " ")


def unit_rows(
    turbochargers: Sequence[int], *, user: User, today: date | None = None, also_place: Iterable[int] = ()
) -> tuple[list[UnitRow], dict[int, Place]]:
    """Rows of units in the order of their primary keys given, and the places of these and of `also_place`.

    Each is late or not by the day of its depot, or by `today`. Four queries.
    Whoever calls has seen to it that the viewer may see these units.
    """
    rank, now = {pk: i for i, pk in enumerate(turbochargers)}, timezone.now()
    suspect = suspect_strokes().filter(original__stroke__check_made=OuterRef("standing__last_check"))
    units = Turbocharger.objects.filter(pk__in=turbochargers).annotate(recalled=Exists(suspect))
    found = list(units.values(*COLUMNS, "recalled"))
    found.sort(key=lambda row: rank[row["pk"]])
    places = places_of([*(row["pk"] for row in found), *also_place])
    judged = judged_strokes([row["standing__last_check"] for row in found if row["standing__last_check"]])
    unseen = {row["model"] for row in found if row["standing__last_check"] not in judged}
    days = {zone: today or day_in(zone, now) for zone in {row["depot__time_zone"] for row in found}}
    revisions = revisions_in_force(unseen, max(days.values())) if unseen else {}
    windows = {model: Window.of(held) for model, held in revisions.items()}
    rows = [
        _row(
            row,
            places.get(row["pk"]),
            judged.get(row["standing__last_check"], []),
            windows,
            days[row["depot__time_zone"]],
            user,
        )
        for row in found
    ]
    return rows, places


def binding_sentence(rules: list[dict[str, Any]] | None, otherwise: str | None, distance_unit: str) -> str:
    """Why the next look is when it is: the sentence of the rule that binds, which is the first."""
    return plan_text(rules[0]["sentence"] if rules else otherwise or "", distance_unit)


def _row(
    row: dict[str, Any],
    place: Place | None,
    judged: Sequence[Judged],
    windows: Mapping[int, Window],
    today: date,
    user: User,
) -> UnitRow:
    made_at, due_on = row["standing__last_check__made_at"], row["standing__due_on"]
    forecast = _forecast_today(row)
    return UnitRow(
        pk=row["pk"],
        serial=row["serial"],
        unit_number=place.unit_number if place else "",
        position=place.position if place else "",
        depot=row["depot__name"],
        model=row["model__name"],
        state=LEAVING if row["standing__leaving"] else row["standing__state"] or NEVER,
        overdue=due_on is not None and due_on < today,
        due_on=due_on,
        binding_rule=row["standing__binding_rule"] or "",
        why=binding_sentence(row["standing__rules"], row["standing__sentence"], user.distance_unit),
        last_check=row["standing__last_check"],
        last_checked_on=day_in(row["depot__time_zone"], made_at) if made_at else None,
        safety_flag=row["safety_flag"],
        strip=strip_of(judged, windows.get(row["model"]), user.length_unit, forecast_today=forecast),
        jumped=bool(row["forecast__jumped"]),
        recalled=row["recalled"],
        fuel=_fuel(row) if place else "",
        **(_drift_words(row, user.length_unit) if forecast else {}),
    )


def _forecast_today(row: dict[str, Any]) -> ForecastToday | None:
    mean, sd = row["forecast__travel_now_mm"], row["forecast__travel_now_sd_mm"]
    return None if mean is None or sd is None else ForecastToday(travel_mm=mean, sd_mm=sd)


def _fuel(row: dict[str, Any]) -> str:
    """More fuel than inside its window, from the stored fit; empty where it is not known."""
    month, newest = row["fuel_loss__month"], row["fuel_loss__fit__last_month"]
    if month is None or newest - month > FUEL_MONTHS or not row["fuel_loss__told"]:
        return ""
    effect, error = row["fuel_loss__effect"], row["fuel_loss__effect_se"]
    low, high = limits(effect, error, row["fuel_loss__dof"])
    return more_fuel(effect, low, high)


def _drift_words(row: dict[str, Any], length_unit: str) -> dict[str, str]:
    """Drift with its expanded uncertainty, what it rests on, and the chance of being outside today."""
    chance = row["standing__p_outside_now"]
    return {
        "drift": drift_text(row["forecast__drift_mm"], row["forecast__drift_u_mm"], length_unit),
        "drift_basis": rests_on(row["forecast__readings"]),
        "chance": chance_text(chance) if chance is not None else "",
    }
