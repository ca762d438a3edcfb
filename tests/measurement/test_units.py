"""Units and numbers as people type them."""

import pytest

from checks.measurement.errors import MeasurementError
from checks.measurement.units import QUANTITIES, NotANumber, accepted_units, convert, parse_decimal


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("31", 31.0),
        ("0.0595", 0.0595),
        ("0,0595", 0.0595),
        (" -1.5 ", -1.5),
        (".5", 0.5),
        ("12 500", 12500.0),
        ("0,038", 0.038),
    ],
)
def test_a_number_is_read_with_point_or_comma(text, value):
    assert parse_decimal(text) == value


@pytest.mark.parametrize(
    "text", ["", " ", "abc", "NaN", "inf", "-inf", "1e9", "1.2.3", "--1", "0x1f", "1,2,3", "٣١x", "9" * 60]
)
def test_what_is_no_plain_number_is_refused(text):
    with pytest.raises(NotANumber) as caught:
        parse_decimal(text)
    assert caught.value.code == "not_a_number"


@pytest.mark.parametrize("text", ["1,512", "212,000", "-12,345"])
def test_a_comma_that_may_mean_thousands_is_refused_with_its_reason(text):
    with pytest.raises(NotANumber, match="two ways") as caught:
        parse_decimal(text)
    assert caught.value.code == "number_unclear"


def test_a_long_text_is_not_thrown_back_whole():
    with pytest.raises(NotANumber) as caught:
        parse_decimal("x" * 5000)
    assert len(caught.value.sentence) < 120


def test_the_kept_unit_is_offered_first():
    assert accepted_units("kPa") == ("kPa", "psi", "bar")
    assert accepted_units("mV") == ("mV", "V")
    assert accepted_units("%") == ("%",)


@pytest.mark.parametrize("unit", [unit for units in QUANTITIES.values() for unit in units])
def test_every_unit_converts_to_itself_without_change(unit):
    assert convert(1.2345, unit, unit) == 1.2345


@pytest.mark.parametrize(("unit", "kept"), [("mm", "kPa"), ("psi", "mm"), ("km", "mm"), ("%", "kPa"), ("mA", "mV")])
def test_a_unit_of_another_quantity_is_refused(unit, kept):
    with pytest.raises(MeasurementError) as caught:
        convert(1.0, unit, kept)
    assert caught.value.code == "wrong_unit"


@pytest.mark.parametrize("unit", ["furlong", "", "KPA", "Pa; import os"])
def test_an_unknown_unit_is_refused_by_name(unit):
    with pytest.raises(MeasurementError) as caught:
        convert(1.0, unit, "kPa")
    assert caught.value.code == "unknown_unit"
