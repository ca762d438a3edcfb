"""The page of fuel: sentence first, limits everywhere."""

import csv
import io
import re
from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from checks.models import FuelFit, FuelLoss
from checks.services.fuel import fit_fleet
from fleet.models import Trip
from tests.bay import make_bay, person
from tests.factories import DepotFactory, TruckFactory
from tests.read_pages import read, words

pytestmark = pytest.mark.django_db
ADDRESS = "/fuel/"


def test_without_trips_the_page_says_what_it_needs(client):
    page = read(client, person(DepotFactory(), "viewer"), ADDRESS)
    assert "Nothing can be said of fuel yet: no trips are on record." in page
    assert reverse("fleet:trips") in page


def test_trips_that_no_fit_holds_yet_are_said_to_be_on_their_way(client):
    depot = DepotFactory()
    viewer, trucks = person(depot, "viewer"), [TruckFactory(depot=depot) for _ in range(2)]
    numbers = {"duration_s": 5400.0, "distance_km": 92.0, "fuel_l": 31.0}
    Trip.objects.create(truck=trucks[0], started_s=1_750_000_000, **numbers)
    assert "fewer than two trucks have trips on record." in words(read(client, viewer, ADDRESS))
    Trip.objects.create(truck=trucks[1], started_s=1_750_000_000, **numbers)
    page = words(read(client, viewer, ADDRESS))
    assert "The fuel of the trips on record is being computed. Look again in a minute." in page


def test_it_opens_with_the_effect_its_limits_and_what_it_cost(client, fleet):
    fit_fleet()
    lead = re.search(r'<p class="lead">(.*?)</p>', read(client, fleet.checked.bay.viewer, ADDRESS), re.S)[1]
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
    page = read(client, user, ADDRESS)
    assert "Each thou below the window costs 0." in page
    assert " mm" not in words(page).split("Fuel against")[1].split("How this is computed")[0]


def test_no_number_stands_without_its_limits(client, fleet):
    fit_fleet()
    table = read(client, fleet.checked.bay.viewer, ADDRESS).split('id="ranking"')[1].split("</table>")[0]
    cells = re.findall(r'<td class="number[^"]*">(.+?)</td>', table, re.S)
    assert len(cells) >= 30
    assert all(re.search(r"[\d.,]+ to [\d.,]+", words(cell)) for cell in cells)
    away = re.findall(r"by [\d.]+ mm[^<]*", table)
    assert away
    assert all(re.fullmatch(r"by [\d.]+ mm \([\d.]+ to [\d.]+\)", found) for found in away)
    loss = FuelLoss.objects.order_by("-litres_year").first()
    assert loss.travel_sd_mm > 0


def test_other_depots_see_neither_units_nor_costs_of_ours(client, fleet):
    fit_fleet()
    outsider = make_bay().viewer
    page = read(client, outsider, ADDRESS)
    assert "TC0" not in page
    assert "No unit asked for lost a litre" in page
    client.force_login(outsider)
    assert len(b"".join(client.get("/fuel/units.csv").streaming_content).splitlines()) == 1


def test_the_ranking_walks_on_by_marks_and_never_repeats_a_unit(client, fleet, monkeypatch):
    monkeypatch.setattr("reports.selectors.fuel.PAGE_SIZE", 5)
    fit_fleet()
    seen, query = [], ""
    for _ in range(4):
        page = read(client, fleet.checked.bay.viewer, ADDRESS + query)
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
    assert "No unit asked for lost a litre" in read(client, user, ADDRESS + f"?model={other.pk}")
    assert "unit-link" in read(client, user, ADDRESS + f"?depot={fleet.checked.bay.depot.pk}&period=month")
    assert "unit-link" in read(client, user, ADDRESS + "?depot=nonsense&period=never")


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
