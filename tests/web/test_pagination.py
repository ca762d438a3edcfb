"""Pages by position: nothing twice, nothing left out, though rows come and go."""

import base64
import json

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet.models import Depot
from fleet.problems import FleetError
from fleet.web.pagination import page_after
from tests.factories import DepotFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def depots() -> list[Depot]:
    return [DepotFactory(checks_per_day=number % 3) for number in range(10)]


def walk(order: list[str], size: int) -> list[int]:
    seen, mark = [], ""
    while True:
        page = page_after(Depot.objects.all(), order=order, mark=mark, size=size)
        seen += [depot.pk for depot in page.rows]
        if not page.next_mark:
            return seen
        mark = page.next_mark


@pytest.mark.parametrize("order", [["pk"], ["-pk"], ["checks_per_day", "pk"], ["-checks_per_day", "name"]])
@pytest.mark.parametrize("size", [1, 3, 10, 50])
def test_walking_the_pages_gives_every_row_once_in_order(depots, order: list[str], size: int) -> None:
    assert walk(order, size) == list(Depot.objects.order_by(*order).values_list("pk", flat=True))


def test_a_row_that_comes_in_front_shifts_nothing(depots) -> None:
    first = page_after(Depot.objects.all(), order=["name"], size=5)
    DepotFactory(name="A new one in front")
    second = page_after(Depot.objects.all(), order=["name"], mark=first.next_mark, size=5)
    assert not {row.pk for row in first.rows} & {row.pk for row in second.rows}


def test_a_page_is_one_query(depots) -> None:
    with CaptureQueriesContext(
        connection,
    ) as queries:
        page_after(Depot.objects.all(), order=["name", "pk"], size=5)
    assert len(queries) == 1


@pytest.mark.parametrize("mark", ["nonsense", "W10", "e30", "WzEsMiwzXQ"])
def test_a_mark_that_is_not_ours_is_refused_with_the_way_back(mark: str) -> None:
    with pytest.raises(FleetError, match="Start from the first"):
        page_after(Depot.objects.all(), order=["name"], mark=mark)


@pytest.mark.parametrize("values", [["a word"], [None], [[1]], [2**64], [float("inf")], ["a\0b"]])
def test_a_forged_mark_is_refused_as_well(values: list[object]) -> None:
    mark = base64.urlsafe_b64encode(json.dumps(values).encode()).decode().rstrip("=")
    with pytest.raises(FleetError, match="Start from the first"):
        page_after(Depot.objects.all(), order=["pk"], mark=mark)
