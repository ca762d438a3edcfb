"""What a technician takes into the bay: per day the units with specification, last reading and fit instruments."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from checks.components.state_word import STATE_WORDS
from checks.display import measured_text
from checks.models import Assessment, SpecificationRevision
from checks.selectors.fit_sets import FitSet, depot_instruments, fit_sets
from checks.selectors.grounds import grounds_for
from checks.selectors.specification import revisions_in_force
from fleet.models import Turbocharger, TurbochargerModel, User
from reports.selectors.specification import SpecificationFacts, facts_of
from reports.selectors.week import Card, Week

SETS_SHOWN = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetRow:
    """One unit on a day's sheet; texts in the viewer's units, empty where unknown."""

    card: Card
    serial: str
    facts: SpecificationFacts
    reading: str
    sets: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One day's sheet."""

    on: date
    room: int
    rows: list[SheetRow]


def day_sheets(week: Week, *, user: User) -> list[Sheet]:
    """Sheets of the days that have checks. Seven queries, and five more per turbocharger model in the week."""
    cards = [card for day in week.days for card in day.cards]
    units = {row.pk: row for row in Turbocharger.objects.filter(pk__in=[card.unit.pk for card in cards])}
    models = {row.model_id for row in units.values()}
    held = revisions_in_force(TurbochargerModel.objects.filter(pk__in=models), week.first)
    last = _readings(cards)
    sets = _Sets(week, held.values())
    return [
        Sheet(
            on=day.on,
            room=day.room,
            rows=[
                _row(card, units[card.unit.pk], held.get(units[card.unit.pk].model_id), last, sets, day.on, user)
                for card in day.cards
            ],
        )
        for day in week.days
        if day.cards
    ]


class _Sets:
    """Fit sets per specification and day, each found once."""

    def __init__(self, week: Week, specifications: Iterable[SpecificationRevision]) -> None:
        self._instruments = depot_instruments(week.depot)
        self._grounds = {row.pk: grounds_for(row) for row in specifications}
        self._found: dict[tuple[int, date], list[FitSet]] = {}

    def of(self, specification: SpecificationRevision, on: date) -> list[FitSet]:
        """The sets that can prove its window on a day."""
        key = (specification.pk, on)
        if key not in self._found:
            grounds = self._grounds[specification.pk]
            self._found[key] = fit_sets(
                specification=specification, grounds=grounds, instruments=self._instruments, on=on
            )
        return self._found[key]


def _row(
    card: Card,
    unit: Turbocharger,
    held: SpecificationRevision | None,
    last: dict[int, Assessment],
    sets: _Sets,
    on: date,
    user: User,
) -> SheetRow:
    reading = last.get(card.unit.last_check or 0)
    return SheetRow(
        card=card,
        serial=unit.serial,
        reading=_reading(reading, user) if reading else "",
        sets=tuple(" + ".join(one.labels) for one in sets.of(held, on)[:SETS_SHOWN]) if held else (),
        facts=facts_of(held, user),
    )


def _readings(cards: list[Card]) -> dict[int, Assessment]:
    """What was last read, by check: as left where the rod was turned."""
    checks = [card.unit.last_check for card in cards if card.unit.last_check]
    rows = Assessment.objects.filter(stroke__check_made__in=checks, is_current=True)
    return {row.stroke.check_made_id: row for row in rows.select_related("stroke").order_by("stroke__moment")}


def _reading(row: Assessment, user: User) -> str:
    if row.travel_mm is None:
        return STATE_WORDS[row.state]
    return f"{measured_text(row.travel_mm, row.expanded_uncertainty_mm, user.length_unit)}, {STATE_WORDS[row.state]}"
