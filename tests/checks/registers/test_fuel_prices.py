"""Fuel prices: by depot and day, corrected with a reason, kept as typed."""

from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from checks.models import FuelPrice
from checks.selectors.fuel_price import price_book, price_rows
from checks.services.fuel_price import add_price, amend_price
from fleet.problems import FleetError, FleetErrors
from tests.bay import make_bay, person
from tests.factories import DepotFactory, FuelPriceFactory

pytestmark = pytest.mark.django_db
MAY = 12 * 2025 + 4


def entry(**changes):
    return {"depot": "fleet", "valid_from": "2025-03-01", "price": ["1,52", "per litre"], "currency": "eur"} | changes


@pytest.fixture
def bay():
    return make_bay()


def faults(refusal) -> dict[str, str]:
    return {error.field: error.sentence for error in refusal.value.errors}


def test_a_price_is_kept_per_litre_and_as_typed(bay):
    row = add_price(author=bay.manager, entry=entry(depot=str(bay.depot.pk)))
    assert (row.depot, row.per_litre, row.currency) == (bay.depot, Decimal("1.52"), "EUR")
    assert row.typed == {"price": ["1,52", "per litre"]}


@pytest.mark.parametrize(("unit", "litres"), [("per US gallon", 3.785411784), ("per imperial gallon", 4.54609)])
def test_gallons_are_converted_exactly(bay, unit, litres):
    """US gallon 231 cubic inches, imperial gallon 4.546 09 L (NIST SP 811, Appendix B)."""
    row = add_price(author=bay.manager, entry=entry(price=["4.00", unit]))
    assert float(row.per_litre) == pytest.approx(4 / litres, abs=5e-5)


def test_every_wrong_field_is_told_at_once(bay):
    wrong = entry(depot="", valid_from="soon", price=["dear", "per litre"], currency="euro")
    with pytest.raises(FleetErrors) as refusal:
        add_price(author=bay.manager, entry=wrong)
    assert set(faults(refusal)) == {"depot", "valid_from", "price", "currency"}
    assert not FuelPrice.objects.exists()


@pytest.mark.parametrize("depot", ["fleet", "own"])
def test_one_price_a_day_and_place(bay, depot):
    place = "fleet" if depot == "fleet" else str(bay.depot.pk)
    add_price(author=bay.manager, entry=entry(depot=place))
    with pytest.raises(FleetErrors) as refusal:
        add_price(author=bay.manager, entry=entry(depot=place, price=["1.60", "per litre"]))
    assert "already has a price from that day" in faults(refusal)["valid_from"]


def test_prices_far_ahead_or_not_above_zero_are_refused(bay):
    late = (timezone.localdate() + timedelta(days=400)).isoformat()
    with pytest.raises(FleetErrors) as refusal:
        add_price(author=bay.manager, entry=entry(valid_from=late, price=["0", "per litre"]))
    assert set(faults(refusal)) == {"valid_from", "price"}


def test_only_managers_write_and_only_at_their_depots(bay):
    with pytest.raises(FleetError) as refusal:
        add_price(author=bay.technician, entry=entry())
    assert refusal.value.status == 403
    with pytest.raises(FleetErrors):
        add_price(author=bay.manager, entry=entry(depot=str(DepotFactory().pk)))
    theirs = FuelPriceFactory(depot=DepotFactory())
    with pytest.raises(FleetError):
        amend_price(author=bay.manager, price=theirs, entry=entry(reason="mine now"))


def test_a_correction_needs_its_reason_and_leaves_the_old_price_on_record(bay):
    row = add_price(author=bay.manager, entry=entry())
    with pytest.raises(FleetErrors) as refusal:
        amend_price(author=bay.manager, price=row, entry=entry(price=["1.25", "per litre"]))
    assert "reason" in faults(refusal)
    amend_price(author=bay.manager, price=row, entry=entry(price=["1.25", "per litre"], reason="digits turned"))
    shown = price_rows(bay.viewer)[0]
    assert shown.price.per_litre == Decimal("1.25")
    (told,) = shown.corrections
    assert (told.reason, told.by) == ("digits turned", bay.manager.display_name)
    assert told.was == "1.52 EUR per litre from 1 Mar 2025"


def test_a_month_takes_the_mean_of_its_days_and_a_depots_own_price_goes_first():
    depot, other = DepotFactory(), DepotFactory()
    for day, price in ((date(2025, 1, 1), "1.00"), (date(2025, 5, 11), "1.31")):
        FuelPriceFactory(depot=depot, valid_from=day, per_litre=price)
    FuelPriceFactory(depot=None, valid_from=date(2025, 5, 1), per_litre="2.00")
    book = price_book()
    # Ten days at 1.00 and twenty-one at 1.31.
    assert book.of(depot.pk, MAY).per_litre == pytest.approx((10 * 1.00 + 21 * 1.31) / 31)
    assert book.of(other.pk, MAY).per_litre == 2.0
    assert book.of(other.pk, MAY - 30).per_litre == 2.0  # before the first, the first
    assert book.of(depot.pk, MAY + 40).per_litre == pytest.approx(1.31)


def test_without_any_price_a_month_has_none_and_a_new_currency_counts_from_its_days():
    depot = DepotFactory()
    assert price_book().of(depot.pk, MAY) is None
    FuelPriceFactory(depot=depot, valid_from=date(2025, 1, 1), per_litre="5.00", currency="ABC")
    FuelPriceFactory(depot=depot, valid_from=date(2025, 5, 10), per_litre="1.50", currency="EUR")
    found = price_book().of(depot.pk, MAY)
    assert (found.per_litre, found.currency) == (1.5, "EUR")


def test_prices_hold_until_the_next_at_the_same_place(bay):
    FuelPriceFactory(depot=bay.depot, valid_from=date(2025, 1, 1))
    FuelPriceFactory(depot=bay.depot, valid_from=date(2025, 4, 1))
    FuelPriceFactory(depot=DepotFactory(), valid_from=date(2025, 2, 1))
    assert [row.until for row in price_rows(bay.viewer)] == [None, date(2025, 3, 31)]


def test_the_pages_keep_what_was_typed_and_show_the_price(client, bay):
    client.force_login(bay.manager)
    address = reverse("checks:fuel_price_add")
    sent = {"depot": str(bay.depot.pk), "valid_from": "2025-03-01", "price_text": "dear", "price_unit": "per litre",
            "currency": "EUR"}  # fmt: skip
    refused = client.post(address, sent)
    assert refused.status_code == 422
    assert 'value="dear"' in refused.content.decode()
    assert client.post(address, sent | {"price_text": "1.52"}).status_code == 302
    page = client.get(reverse("checks:fuel_prices")).content.decode()
    assert "1.5200 EUR" in page
    row = FuelPrice.objects.get()
    form = client.get(reverse("checks:fuel_price_amend", args=[row.pk])).content.decode()
    assert 'value="1.52"' in form
    client.post(reverse("checks:fuel_price_amend", args=[row.pk]), sent | {"price_text": "1.25", "reason": "turned"})
    assert "(turned)" in client.get(reverse("checks:fuel_prices")).content.decode()


def test_other_depots_prices_are_not_found(client, bay):
    theirs = FuelPriceFactory(depot=DepotFactory(name="Far away"))
    client.force_login(bay.manager)
    assert "Far away" not in client.get(reverse("checks:fuel_prices")).content.decode()
    assert client.get(reverse("checks:fuel_price_amend", args=[theirs.pk])).status_code == 404


def send_price(client, body):
    headers = {"Idempotency-Key": str(uuid4())}
    return client.post("/api/v1/fuel-prices/", body, content_type="application/json", headers=headers)


def test_programs_list_and_add_prices(client, bay):
    FuelPriceFactory(depot=DepotFactory())
    client.force_login(bay.manager)
    body = entry(depot=str(bay.depot.pk), price={"text": "1.52", "unit": "per litre"})
    answer = send_price(client, body)
    assert answer.status_code == 201
    rows = client.get("/api/v1/fuel-prices/").json()["results"]
    assert [(row["depot"], row["per_litre"], row["currency"]) for row in rows] == [(bay.depot.code, "1.5200", "EUR")]
    again = send_price(client, body)
    assert again.status_code == 400
    assert again["Content-Type"] == "application/problem+json"
    client.force_login(person(bay.depot, "viewer"))
    assert send_price(client, body).status_code == 403
