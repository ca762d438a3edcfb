"""Fuel prices: added, and amended with a reason; what fuel losses are worth follows by a fit of its own."""

from datetime import timedelta
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from checks.models import FuelPrice
from checks.services.entry import Entry, Reader, keep
from checks.services.fuel_request import request_fuel_fit
from fleet.models import Depot, Membership, User
from fleet.selectors import scope

GALLON_US_L, GALLON_IMPERIAL_L = 3.785411784, 4.54609
PER = {
    "per litre": lambda price: price,
    "per US gallon": lambda price: price / GALLON_US_L,
    "per imperial gallon": lambda price: price / GALLON_IMPERIAL_L,
}
LEAST, MOST = 0.0001, 10_000.0
LATEST_AHEAD_DAYS = 366
FLEET = "fleet"
PLACES = {
    "fuel_price_once_per_depot": "valid_from",
    "fuel_price_once_per_fleet": "valid_from",
    "fuel_price_positive": "price",
    "fuel_price_currency": "currency",
}


@transaction.atomic
def add_price(*, author: User, entry: Entry) -> FuelPrice:
    """Add a price from a day on. `entry`: depot (its key, or 'fleet' for every depot without its own), valid_from,
    price as [text, unit], currency. Raises FleetErrors with every wrong field.
    """
    scope.require(author, Membership.Role.MANAGER)
    reader = Reader(entry)
    row = FuelPrice(recorded_by=author, depot=_depot(reader, author))
    _read(reader, row)
    reader.refuse_faults()
    keep(row, author=author, places=PLACES)
    request_fuel_fit(delay_s=1.0)
    return row


@transaction.atomic
def amend_price(*, author: User, price: FuelPrice, entry: Entry) -> FuelPrice:
    """Correct a price, its day or its currency; `entry` must hold a ``reason``, and the old value stays on record."""
    scope.require(author, Membership.Role.MANAGER, price.depot)
    row = FuelPrice.objects.select_for_update(of=("self",)).get(pk=price.pk)
    reader = Reader(entry)
    _read(reader, row)
    reason = reader.text("reason", "The reason", longest=100, required=True)
    reader.refuse_faults()
    keep(row, author=author, places=PLACES, reason=reason)
    request_fuel_fit(delay_s=1.0)
    return row


def _depot(reader: Reader, author: User) -> Depot | None:
    mine = {str(depot.pk): depot for depot in scope.depots_of(author, role=Membership.Role.MANAGER).distinct()}
    names = {FLEET: "the whole fleet"} | {pk: depot.name for pk, depot in mine.items()}
    return mine.get(reader.choice("depot", "The depot", names))


def _read(reader: Reader, row: FuelPrice) -> None:
    latest = timezone.localdate() + timedelta(days=LATEST_AHEAD_DAYS)
    day = reader.day("valid_from", "The first day of the price", latest=latest)
    price = reader.quantity("price", "The price", tuple(PER), low=LEAST, high=MOST, own=PER)
    currency = reader.text("currency", "The currency", longest=3, required=True).upper()
    if currency and not (len(currency) == 3 and currency.isascii() and currency.isalpha()):
        reader.fault("currency", "fuel_price_currency", "Give the currency as three letters, such as EUR.")
    if day and price:
        row.valid_from, row.currency = day, currency
        row.per_litre = Decimal(str(round(price, 4)))
        row.typed = reader.typed
