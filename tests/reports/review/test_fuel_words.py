"""What the review's first page says of fuel and of its worth."""

from types import SimpleNamespace

import pytest

from checks.selectors.fuel import Amount, Cost
from reports.review import fuel as tables
from reports.review.summary import fuel


def cost(litres, money):
    return Cost(
        first_month=1, last_month=12, litres=litres, burnt_litres=9e4, money=money, unpriced=None, trucks=9, unknown=1,
        outside=3,
    )  # fmt: skip


@pytest.fixture
def said(monkeypatch):
    """Return a function: what the first page says of a cost."""

    def run(litres, money):
        fit = SimpleNamespace(first_month=0, last_month=12)
        monkeypatch.setattr(tables, "current_fit", lambda: fit)
        monkeypatch.setattr(tables, "costs", lambda *a, **k: dict.fromkeys(("month", "year"), cost(litres, money)))
        held = tables.cost_table(SimpleNamespace(month=SimpleNamespace(number=12), depot_key=None))
        return list(fuel({"fuel_cost": held}, SimpleNamespace(), ""))

    return run


def test_money_of_two_currencies_stands_side_by_side(said):
    worth = {"EUR": Amount(900.0, 500.0, 1300.0), "SEK": Amount(7600.0, 4000.0, 11200.0)}
    assert said(Amount(1030.0, 570.0, 1490.0), worth) == [
        "Travel outside the window cost 1,030 L of fuel in twelve months (570 to 1,490 L), worth 900 EUR (500 to 1,300)"
        " and 7,600 SEK (4,000 to 11,200) where a price is known."
    ]


def test_what_is_not_told_is_not_said(said):
    assert said(Amount(0.0, float("-inf"), float("inf")), {}) == []
