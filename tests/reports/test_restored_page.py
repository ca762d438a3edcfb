"""Restored units: the sentence first, limits everywhere, and why some cannot be told."""

import csv
import io
import math
import re
from datetime import date
from types import SimpleNamespace

import pytest
from django.db import connection
from django.db.models import F
from django.test.utils import CaptureQueriesContext

from checks.models import FuelMonth
from checks.services.restoration import find_restorations
from fleet.models import Complaint
from reports.pages.unit_fuel import fuel_part
from reports.selectors.thirst import unit_fuel
from reports.sentences.thirst import thirst_sentence
from tests.bay import person
from tests.factories import DepotFactory
from tests.read_pages import lead, read, words
from tests.restored_fleet import make_restored_fleet

pytestmark = pytest.mark.django_db
ADDRESS, FILE = "/fuel/restored/", "/fuel/restored.csv"


@pytest.fixture
def fleet():
    return make_restored_fleet()


def test_without_a_fit_it_says_what_is_missing(client):
    page = read(client, person(DepotFactory(), "viewer"), ADDRESS)
    assert "cannot be told yet: no trips have been fitted" in lead(page)
    assert "followed here once its truck has trips before and after" in page


def test_the_mean_and_each_event_are_told_with_limits(client, fleet):
    for day in (380, 400, 420, 440):
        fleet.restore(day)
    fleet.burn()
    find_restorations()
    page = read(client, fleet.checked.bay.viewer, ADDRESS)
    back, low, high = map(
        float,
        re.match(r"Putting four trucks right gave back ([\d.]+) % \(([\d.]+) to ([\d.]+) %\)", lead(page)).groups(),
    )
    # Planted: exp(-0.04) - 1, 3.9 % less.
    assert low < 3.92 < high
    assert low < back < high
    rows = re.findall(r'<td class="number">(−[^<]*)</td>', page)
    assert len(rows) == 4
    assert all(re.fullmatch(r"−[\d.]+ % \(−?[\d.]+ to −?[\d.]+ %\)", row) for row in rows)
    assert "What this cannot prove" in page
    assert "figure-restored" in page


def test_one_event_is_told_without_a_mean(client, fleet):
    fleet.restore(400)
    fleet.burn()
    find_restorations()
    assert "One restored unit can be told: truck" in lead(read(client, fleet.checked.bay.viewer, ADDRESS))


def test_what_cannot_be_told_is_listed_with_its_reason(client, fleet):
    fleet.restore(720)
    fleet.burn()
    find_restorations()
    page = read(client, fleet.checked.bay.viewer, ADDRESS)
    assert lead(page) == "One unit restored so far, and of none can it be told yet what it gave back."
    assert "1 not told, and why" in page


def test_nobody_sees_restorations_of_other_depots(client, fleet):
    fleet.restore(400)
    fleet.burn()
    find_restorations()
    stranger = person(DepotFactory(), "manager")
    assert "No unit that stood outside its window has been restored yet." in read(client, stranger, ADDRESS)
    assert len(list(csv.reader(io.StringIO(read(client, stranger, FILE))))) == 1


def test_the_file_has_a_row_each_with_limits(client, fleet):
    fleet.restore(400)
    fleet.restore(720)
    fleet.burn()
    find_restorations()
    rows = list(csv.DictReader(io.StringIO(read(client, fleet.checked.bay.viewer, FILE).removeprefix("\ufeff"))))
    told = next(row for row in rows if row["change %"])
    assert float(told["low %"]) < float(told["change %"]) < float(told["high %"])
    untold = next(row for row in rows if not row["change %"])
    assert untold["not told because"].startswith("Fewer than 2 months")


def test_the_page_costs_the_same_queries_whatever_the_number(client, fleet):
    fleet.restore(400)
    fleet.burn()
    find_restorations()
    user = fleet.checked.bay.viewer

    def queries() -> int:
        with CaptureQueriesContext(
            connection,
        ) as caught:
            read(client, user, ADDRESS)
        return len(caught)

    queries()
    few = queries()
    for day in (380, 410, 430):
        fleet.restore(day)
    find_restorations()
    assert queries() == few


def test_the_unit_page_tells_fuel_in_a_sentence_a_picture_and_a_table(client, fleet):
    unit = fleet.checked.add_unit()
    fleet.burn()
    page = read(client, fleet.checked.bay.viewer, f"/units/{unit.pk}/")
    told = "uses no more than its own level as far as can be told; its wastegate has stood inside its window"
    assert told in words(page)
    assert "figure-unit-fuel" in page
    assert "Feb 2025" in words(page)


def test_what_put_a_truck_right_is_marked_and_told_on_its_units_page(fleet):
    unit = fleet.restore(400)
    truck = fleet.truck_of(unit)
    Complaint.objects.create(truck=truck, kind="fuel_economy", raised_on=date(2025, 1, 20), raised_by="a driver")
    fleet.burn()
    find_restorations()
    part = fuel_part(SimpleNamespace(now=SimpleNamespace(truck_now=truck)), fleet.checked.bay.viewer)
    assert re.fullmatch(r"it gave back [\d.]+ % \([\d.]+ to [\d.]+ %\)", part.restored[0]["words"])
    events = {row["month"].isoformat(): row["events"] for row in part.rows if row["events"]}
    assert events == {"2025-01-01": ["complaint, fuel economy"], "2025-02-01": ["restored"]}
    assert {"complaint", "restored"} <= {trace["name"] for trace in part.figure["data"]}


@pytest.mark.parametrize(
    ("travel", "said"),
    [
        (FuelMonth.Travel.OUTSIDE_LOW, r"has stood 0\.200 mm low since Aug 2025\. Set it right first"),
        (FuelMonth.Travel.INSIDE, r"inside its window since Jan 2024\. Look for the cause elsewhere"),
        (FuelMonth.Travel.UNKNOWN, r"is not known: no reading was made in this fitting\. Check it to know"),
    ],
)
def test_a_thirsty_truck_is_told_with_what_its_wastegate_did(fleet, travel, said):
    unit = fleet.checked.units[0]
    fleet.burn()
    late = FuelMonth.objects.filter(turbocharger=unit, month__gte=12 * 2025 + 7)
    late.update(log_fuel=F("log_fuel") + 0.06, travel=travel, shortfall_mm=0.2)
    told = unit_fuel(fleet.truck_of(unit)).fuel
    more = re.match(r"Truck \S+ uses ([\d.]+) % \(([\d.]+) to ([\d.]+) %\) more than its own level since Aug 2025; ",
                    thirst_sentence(told, "mm"))  # fmt: skip
    assert float(more[2]) < 100 * math.expm1(0.06) < float(more[3])
    assert re.search(said, thirst_sentence(told, "mm"))


def test_few_months_have_no_level_of_their_own(fleet):
    unit = fleet.checked.units[0]
    fleet.burn()
    FuelMonth.objects.filter(turbocharger=unit, month__gte=12 * 2024 + 4).delete()
    told = unit_fuel(fleet.truck_of(unit)).fuel
    assert "has too few months of trips for a level of its own" in thirst_sentence(told, "mm")
    assert unit_fuel(None) is None
