"""What fuel cost, by depot and month."""

from bisect import bisect_right
from collections import Counter, defaultdict
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from django.db.models import Q, QuerySet

from checks.models import FuelPrice
from checks.selectors.days import first_day
from fleet.models import User
from fleet.selectors.scope import depots_of


@dataclass(frozen=True, slots=True)
class Price:
    """Mean price of a month in one currency."""

    per_litre: float
    currency: str


@dataclass(slots=True)
class PriceBook:
    """Every price by depot (None is the whole fleet), in order of days. `of` remembers what it was asked."""

    rows: dict[int | None, list[tuple[date, float, str]]]
    known: dict[tuple[int | None, int], Price | None] = field(default_factory=dict)

    def of(self, depot: int, month: int) -> Price | None:
        """Mean over a month's days at a depot, None without a price; months count 12 * year + month - 1.

        A depot's own price goes before the fleet's. Days before the first price take the first. Of a month with two
        currencies, the days in the one that held longer count.
        """
        key = (depot if depot in self.rows else None, month)
        if key not in self.known:
            self.known[key] = self._mean(*key)
        return self.known[key]

    def _mean(self, depot: int | None, month: int) -> Price | None:
        own = self.rows.get(depot, [])
        if not own:
            return None
        begin, end = first_day(month), first_day(month + 1)
        each = [self._on(depot, begin + timedelta(days=nth)) for nth in range((end - begin).days)]
        currency = Counter(name for _, name in each).most_common(1)[0][0]
        prices = [price for price, name in each if name == currency]
        return Price(sum(prices) / len(prices), currency)

    def _on(self, depot: int | None, day: date) -> tuple[float, str]:
        own, common = self.rows.get(depot, []), self.rows.get(None, [])
        for rows in (own, common):
            place = bisect_right(rows, day, key=lambda row: row[0])
            if place:
                return rows[place - 1][1:]
        return (own or common)[0][1:]


def price_book() -> PriceBook:
    """All prices; one query."""
    rows: dict[int | None, list[tuple[date, float, str]]] = defaultdict(list)
    found = FuelPrice.objects.order_by("valid_from", "pk").values_list("depot", "valid_from", "per_litre", "currency")
    for depot, day, price, currency in found:
        rows[depot].append((day, float(price), currency))
    return PriceBook(dict(rows))


@dataclass(frozen=True, slots=True)
class Correction:
    """What a price was before it was corrected, by whom, when and why."""

    at: datetime
    by: str
    reason: str
    was: str


@dataclass(frozen=True, slots=True)
class PriceRow:
    """One price for a list. ``until``: the last day on which it holds, None while it does."""

    price: FuelPrice
    until: date | None
    corrections: tuple[Correction, ...]


def prices_of(user: User) -> QuerySet[FuelPrice]:
    """Prices of the whole fleet and of the depots that `user` sees."""
    return FuelPrice.objects.filter(Q(depot__in=depots_of(user)) | Q(depot__isnull=True)).select_related("depot")


def price_rows(user: User) -> list[PriceRow]:
    """By depot, the newest first, each with its corrections; two queries."""
    rows = list(prices_of(user).order_by("depot__name", "-valid_from"))
    changes = _corrections([row.pk for row in rows])
    out: list[PriceRow] = []
    for row in rows:
        later = out[-1].price if out and out[-1].price.depot_id == row.depot_id else None
        until = later.valid_from - timedelta(days=1) if later else None
        out.append(PriceRow(row, until, tuple(changes.get(row.pk, ()))))
    return out


def _corrections(prices: list[int]) -> dict[int, list[Correction]]:
    found: dict[int, list[Correction]] = defaultdict(list)
    history = FuelPrice.history.filter(id__in=prices).select_related("history_user").order_by("id", "history_id")
    before = None
    for row in history:
        if before is not None and before.id == row.id:
            by = row.history_user.display_name if row.history_user else "someone"
            was = f"{before.per_litre.normalize():f} {before.currency} per litre from {before.valid_from:%-d %b %Y}"
            found[row.id].append(Correction(row.history_date, by, row.history_change_reason or "", was))
        before = row
    return found
