"""Money on the page of fuel: only where a price is known, by currency, and never without limits."""

import re
from datetime import date

import pytest
from django.urls import reverse

from checks.models import FuelLoss
from checks.selectors.fuel import costs, current_fit
from checks.services.fuel import fit_fleet
from fleet.models import Truck
from tests.factories import DepotFactory, FuelPriceFactory, MembershipFactory
from tests.read_pages import read, words

pytestmark = pytest.mark.django_db
ADDRESS = "/fuel/"


def test_no_price_shows_litres_alone_and_the_one_way_to_add_it(client, fleet):
    fit_fleet()
    bay = fleet.checked.bay
    assert reverse("checks:fuel_price_add") in read(client, bay.manager, ADDRESS)
    assert reverse("checks:fuel_price_add") not in read(client, bay.viewer, ADDRESS)
    assert "no price known" in read(client, bay.viewer, ADDRESS)


def test_a_price_turns_litres_into_money_with_its_currency(client, fleet):
    bay = fleet.checked.bay
    FuelPriceFactory(depot=bay.depot, per_litre="2.00", currency="EUR")
    fit_fleet()
    loss = FuelLoss.objects.order_by("-litres_year").first()
    assert loss.money_year == pytest.approx(2 * loss.litres_year)
    page = read(client, bay.viewer, ADDRESS)
    assert re.search(r"[\d,]+ EUR +[\d,]+ to [\d,]+", words(page.split('id="ranking"')[1]))
    assert "no price known" not in page


def test_a_currency_that_changed_is_not_added_up(client, fleet):
    bay = fleet.checked.bay
    FuelPriceFactory(depot=bay.depot, valid_from=date(2025, 1, 1), per_litre="11.00", currency="SEK")
    FuelPriceFactory(depot=bay.depot, valid_from=date(2025, 4, 1), per_litre="2.00", currency="EUR")
    fit_fleet()
    page = words(read(client, bay.viewer, ADDRESS))
    year = page.split("What travel outside the window cost Fuel")[1]
    assert re.search(r"[\d,]+ EUR [\d,]+ to [\d,]+ [\d,]+ SEK [\d,−]+ to [\d,]+", year.split("twelve months")[1])
    assert "not in one price" in page.split("Units by fuel lost")[1]
    assert "no price known" not in page


def test_money_is_told_by_currency_and_says_what_has_no_price(client, fleet):
    """Two depots with half of the trucks each; what one currency is worth rests on its own depot's litres."""
    viewer, ours, other = fleet.checked.bay.viewer, fleet.checked.bay.depot, DepotFactory()
    Truck.objects.filter(pk__in=[truck.pk for truck in list(fleet.trucks.values())[::2]]).update(depot=other)
    MembershipFactory(user=viewer, depot=other, role="viewer")
    FuelPriceFactory(depot=ours, per_litre="2.00", currency="EUR")
    half = costs(viewer, fit_fleet())["all"]
    page = words(read(client, viewer, ADDRESS))
    assert re.search(r"EUR \([\d,]+ to [\d,]+\) where a price is known,", page)
    assert re.search(r"EUR [\d,]+ to [\d,]+ without a price: [\d,]+ L \([\d,]+ to [\d,]+\)", page)
    FuelPriceFactory(depot=other, per_litre="18.00", currency="SEK")
    both = costs(viewer, fit_fleet())["all"]
    alone = costs(viewer, current_fit(), depot=other.pk)["all"]
    assert both.unpriced is None
    assert set(both.money) == {"EUR", "SEK"}
    for name in ("value", "low", "high"):
        assert getattr(both.money["SEK"], name) == pytest.approx(18 * getattr(half.unpriced, name))
        assert getattr(both.money["SEK"], name) == pytest.approx(18 * getattr(alone.litres, name))
    assert both.money["EUR"].value / 2 + both.money["SEK"].value / 18 == pytest.approx(both.litres.value)
    assert not re.search(r"without a price: \d", words(read(client, viewer, ADDRESS)))
