"""A value of an open file comes back to the last bit."""

import csv
from datetime import UTC
from pathlib import Path
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from fleet.management.openfiles.cells import reader, writer
from fleet.models import Depot, Job, Trip, Truck


def test_a_formula_stays_the_text_that_it_is(out: Path) -> None:
    with (out / "fleet_truck.csv").open(newline="") as file:
        assert [row["unit_number"] for row in csv.DictReader(file)] == ["-1 SUM(A1)"]


def test_the_same_value_is_the_same_text_in_whatever_order_it_is_kept() -> None:
    write = writer(Job._meta.get_field("arguments"))
    assert write({"b": 1, "a": {"d": 2, "c": 3}}) == write({"a": {"c": 3, "d": 2}, "b": 1})


@given(text=st.text(alphabet=st.characters(exclude_categories=["Cs"])) | st.none())
def test_a_text_that_may_be_missing_comes_back_exactly(text: str | None) -> None:
    field = Truck.history.model._meta.get_field("history_change_reason")
    assert reader(field)(writer(field)(text)) == text


@given(number=st.floats(allow_nan=False))
def test_a_number_comes_back_to_the_last_bit(number: float) -> None:
    field = Trip._meta.get_field("fuel_l")
    assert reader(field)(writer(field)(number)) == number


@given(moment=st.datetimes(timezones=st.timezones()))
def test_a_moment_comes_back_whatever_its_zone(moment: Any) -> None:
    field = Depot.history.model._meta.get_field("history_date")
    try:
        text = writer(field)(moment)
    except OverflowError:  # the first and the last day of the calendar in a zone beside UTC
        return
    assert reader(field)(text) == moment.astimezone(UTC)
