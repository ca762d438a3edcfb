"""The page of fuel: sentence first, limits everywhere, money only where a price is known."""

import csv
import io
import re
from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from checks.models import FuelFit, FuelLoss
from checks.selectors.fuel import costs, current_fit
from checks.services.drift import refit
from checks.services.fuel import fit_fleet
from fleet.models import Trip, Truck
from tests.bay import make_bay, person
from tests.drifting_fleet import DriftingFleet
from tests.factories import DepotFactory, FuelPriceFactory, MembershipFactory, TruckFactory
from tests.thirsty_fleet import ThirstyFleet, make_thirsty_fleet

pytestmark = pytest.mark.django_db
ADDRESS = "/fuel/"


@pytest.fixture
def fleet():
    made = make_thirsty_fleet(inside=8, low=7, high=6)
    made.drive(months=6)
    return made


def read(client, user, query: str = "") -> str:
    client.force_login(user)
    answer = client.get(ADDRESS + query)
    assert answer.status_code == 200
    return answer.content.decode()


def words(page: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page))


def test_without_trips_the_page_says_what_it_needs(client):
    page = read(client, person(DepotFactory(), "viewer"))
    assert "Nothing can be said of fuel yet: no trips are on record." in page
    assert reverse("fleet:trips") in page


def test_trips_that_no_fit_holds_yet_are_said_to_be_on_their_way(client):
    depot = DepotFactory()
    viewer, trucks = person(depot, "viewer"), [TruckFactory(depot=depot) for _ in range(2)]
    numbers = {"duration_s": 5400.0, "distance_km": 92.0, "fuel_l": 31.0}
    Trip.objects.create(truck=trucks[0], started_s=1_750_000_000, **numbers)
    assert "fewer than two trucks have trips on record." in words(read(client, viewer))
    Trip.objects.create(truck=trucks[1], started_s=1_750_000_000, **numbers)
    page = words(read(client, viewer))
    assert "The fuel of the trips on record is being computed. Look again in a minute." in page


def test_it_opens_with_the_effect_its_limits_and_what_it_cost(client, fleet):
    fit_fleet()
    lead = re.search(r'<p class="lead">(.*?)</p>', read(client, fleet.checked.bay.viewer), re.S)[1]
    effect = re.match(r"Each 0.1 mm below the window costs ([\d.]+) % \(([\d.]+) to ([\d.]+) %\) more fuel", lead)
    _, low, high = map(float, effect.groups())
    # Planted: 0.20 in log fuel per mm, so exp(0.02) - 1 for 0.1 mm.
    assert low < 2.02 < high
    assert "In Jun 2025 it cost" in lead
    assert "kg (" in lead


def test_effects_are_told_in_the_readers_unit(client, fleet):
    fit_fleet()
    user = fleet.checked.bay.viewer
    user.length_unit = "thou"
    user.save()
    page = read(client, user)
    assert "Each thou below the window costs 0." in page
    assert " mm" not in words(page).split("Fuel against")[1].split("How this is computed")[0]


def test_no_price_shows_litres_alone_and_the_one_way_to_add_it(client, fleet):
    fit_fleet()
    bay = fleet.checked.bay
    assert reverse("checks:fuel_price_add") in read(client, bay.manager)
    assert reverse("checks:fuel_price_add") not in read(client, bay.viewer)
    assert "no price known" in read(client, bay.viewer)


def test_a_price_turns_litres_into_money_with_its_currency(client, fleet):
    bay = fleet.checked.bay
    FuelPriceFactory(depot=bay.depot, per_litre="2.00", currency="EUR")
    fit_fleet()
    loss = FuelLoss.objects.order_by("-litres_year").first()
    assert loss.money_year == pytest.approx(2 * loss.litres_year)
    page = read(client, bay.viewer)
    assert re.search(r"[\d,]+ EUR +[\d,]+ to [\d,]+", words(page.split('id="ranking"')[1]))
    assert "no price known" not in page


def test_a_currency_that_changed_is_not_added_up(client, fleet):
    bay = fleet.checked.bay
    FuelPriceFactory(depot=bay.depot, valid_from=date(2025, 1, 1), per_litre="11.00", currency="SEK")
    FuelPriceFactory(depot=bay.depot, valid_from=date(2025, 4, 1), per_litre="2.00", currency="EUR")
    fit_fleet()
    page = words(read(client, bay.viewer))
    year = page.split("What travel outside the window cost Fuel")[1]
    assert re.search(r"[\d,]+ EUR [\d,]+ to [\d,]+ [\d,]+ SEK [\d,−]+ to [\d,]+", year.split("twelve months")[1])
    assert "not in one price" in page.split("Units by fuel lost")[1]
    assert "no price known" not in page


def test_no_number_stands_without_its_limits(client, fleet):
    fit_fleet()
    table = read(client, fleet.checked.bay.viewer).split('id="ranking"')[1].split("</table>")[0]
    cells = re.findall(r'<td class="number[^"]*">(.+?)</td>', table, re.S)
    assert len(cells) >= 30
    assert all(re.search(r"[\d.,]+ to [\d.,]+", words(cell)) for cell in cells)
    away = re.findall(r"by [\d.]+ mm[^<]*", table)
    assert away
    assert all(re.fullmatch(r"by [\d.]+ mm \([\d.]+ to [\d.]+\)", found) for found in away)
    loss = FuelLoss.objects.order_by("-litres_year").first()
    assert loss.travel_sd_mm > 0


def test_one_truck_alone_carries_no_claim_of_cost(client):
    fleet = make_thirsty_fleet(inside=10, low=1, high=0)
    fleet.drive(months=6)
    fit_fleet()
    page = read(client, fleet.checked.bay.viewer)
    assert "cannot be told yet, because what is known rests on 1." in page
    assert "No unit asked for lost a litre" in page
    # What is not told is not nothing either.
    costs = words(page.split("<h2>What travel outside the window cost")[1].split("</table>")[0])
    assert costs.count("not known") == 9
    assert "0 to 0" not in costs


def test_trips_before_any_check_cost_nothing_that_is_known(client):
    fleet = ThirstyFleet(DriftingFleet(make_bay()))
    for _ in range(3):
        fleet.add(1.4, 0.0, checks=0)
    refit()
    fleet.drive(months=3)
    fit_fleet()
    page = words(read(client, fleet.checked.bay.viewer))
    assert "because no truck with trips has had its travel read since its turbocharger was fitted." in page
    assert "There are no marks yet" in page
    assert "In Mar 2025 the travel of 3 of 3 trucks is not known and counts with nothing." in page
    assert " 0 L" not in page


def test_less_fuel_is_called_so_and_a_cost_that_may_be_none_too(client):
    fleet = make_thirsty_fleet(inside=8, low=7, high=6)
    fleet.per_mm = (-0.15, 0.18)
    fleet.drive()
    fit_fleet()
    lead = re.search(r'<p class="lead">(.*?)</p>', read(client, fleet.checked.bay.viewer), re.S)[1]
    assert re.search(r"Each 0.1 mm below the window goes with 1.[4-6] % \(1.\d to 1.\d %\) less fuel", lead)
    assert re.search(r"In Dec 2025 a cost cannot be told from none: [−\d]+ L \(−\d+ to \d+\)", lead)
    assert re.search(r"[−\d.]+ % \(−[\d.]+ to [\d.]+ %\) of all fuel", lead)


def test_money_is_told_by_currency_and_says_what_has_no_price(client, fleet):
    """Two depots with half of the trucks each; what one currency is worth rests on its own depot's litres."""
    viewer, ours, other = fleet.checked.bay.viewer, fleet.checked.bay.depot, DepotFactory()
    Truck.objects.filter(pk__in=[truck.pk for truck in list(fleet.trucks.values())[::2]]).update(depot=other)
    MembershipFactory(user=viewer, depot=other, role="viewer")
    FuelPriceFactory(depot=ours, per_litre="2.00", currency="EUR")
    half = costs(viewer, fit_fleet())["all"]
    page = words(read(client, viewer))
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
    assert not re.search(r"without a price: \d", words(read(client, viewer)))


def test_other_depots_see_neither_units_nor_costs_of_ours(client, fleet):
    fit_fleet()
    outsider = make_bay().viewer
    page = read(client, outsider)
    assert "TC0" not in page
    assert "No unit asked for lost a litre" in page
    client.force_login(outsider)
    assert len(b"".join(client.get("/fuel/units.csv").streaming_content).splitlines()) == 1


def test_the_ranking_walks_on_by_marks_and_never_repeats_a_unit(client, fleet, monkeypatch):
    monkeypatch.setattr("reports.selectors.fuel.PAGE_SIZE", 5)
    fit_fleet()
    seen, query = [], ""
    for _ in range(4):
        page = read(client, fleet.checked.bay.viewer, query)
        seen += re.findall(r'class="unit-link" href="/units/(\d+)/"', page)
        more = re.search(r'rel="next" href="(\?[^"#]+)', page)
        if not more:
            break
        query = more[1].replace("&amp;", "&")
    ranked = FuelLoss.objects.filter(litres_year__gte=1).order_by("-litres_year").values_list("turbocharger", flat=True)
    assert list(map(int, seen)) == list(ranked)
    assert len(seen) > 5


def test_filters_narrow_costs_and_ranking(client, fleet):
    fit_fleet()
    user = fleet.checked.bay.viewer
    other = make_bay().turbocharger.model
    assert "No unit asked for lost a litre" in read(client, user, f"?model={other.pk}")
    assert "unit-link" in read(client, user, f"?depot={fleet.checked.bay.depot.pk}&period=month")
    assert "unit-link" in read(client, user, "?depot=nonsense&period=never")


def test_the_file_holds_the_ranking_with_limits_and_no_formulas(client, fleet):
    bay = fleet.checked.bay
    fit_fleet()
    loss = FuelLoss.objects.order_by("-litres_year").first()
    loss.truck.unit_number = "=1+1"
    loss.truck.save()
    client.force_login(bay.viewer)
    answer = client.get("/fuel/units.csv")
    assert answer["Content-Disposition"] == 'attachment; filename="fuel-year.csv"'
    text = b"".join(answer.streaming_content).decode("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert rows[0]["unit"] == "'=1+1"
    assert float(rows[0]["litres"]) == pytest.approx(loss.litres_year, abs=0.06)
    assert float(rows[0]["litres low"]) < float(rows[0]["litres"]) < float(rows[0]["litres high"])
    # 40 CFR 98, Table C-1: 10.20648 kg per US gallon of 3.785411784 L.
    ratio = float(rows[0]["kg CO2"]) / float(rows[0]["litres"])
    assert ratio == pytest.approx(10.20648 / 3.785411784, rel=1e-3)


def test_the_page_costs_the_same_queries_whatever_the_fleet(client, fleet):
    fit_fleet()
    user = fleet.checked.bay.viewer
    client.force_login(user)

    def queries() -> int:
        with CaptureQueriesContext(connection) as found:
            assert client.get(ADDRESS).status_code == 200
        return len(found)

    queries()
    few = queries()
    for _ in range(6):
        fleet.add(fleet.window[0] + 0.2, -0.25)
    fleet.drive(months=6, first=date(2025, 7, 1))
    fit_fleet()
    assert FuelFit.objects.get(is_current=True).trucks == 27
    assert queries() == few
