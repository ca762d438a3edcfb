"""A number with its unit: handed on as typed, and shown again as typed."""

import pytest
from django import forms

from fleet.problems import FleetError, FleetErrors
from fleet.web.forms import KeyField, show_refusal
from fleet.web.quantities import QuantityField


class Reading(forms.Form):
    """A form as pages make them."""

    pressure = QuantityField(units=["psi", "kPa"], help_text="At the setting.")
    hours = QuantityField(units=["h"], required=False)


def typed(text: str, unit: str = "psi", **more: str) -> Reading:
    return Reading({"pressure_text": text, "pressure_unit": unit, **more})


@pytest.mark.parametrize("text", ["31", "31,5", " 0.059 ", "1e9", "NaN", "thirty"])
def test_a_number_is_handed_on_as_typed(text: str) -> None:
    form = typed(text)
    assert form.is_valid()
    assert form.cleaned_data["pressure"] == {"text": text.strip(), "unit": "psi"}


@pytest.mark.parametrize("text", ["", "   "])
def test_a_missing_number_is_named_though_its_unit_is_chosen(text: str) -> None:
    assert typed(text).errors["pressure"] == ["Enter a number with its unit."]


def test_an_optional_number_may_be_left_out() -> None:
    form = typed("31", hours_text="", hours_unit="h")
    assert form.is_valid()
    assert form.cleaned_data["hours"] is None


def test_a_foreign_unit_is_refused_with_those_that_are_taken() -> None:
    assert typed("31", "furlong").errors["pressure"] == ["The unit 'furlong' is not accepted here; use psi or kPa."]


def test_a_text_longer_than_any_number_is_refused() -> None:
    assert "pressure" in typed("1" * 25).errors


def test_what_was_typed_is_still_there_beside_the_error() -> None:
    form = typed("thirty", "kPa")
    show_refusal(form, FleetError("not_a_number", "pressure", "'thirty' is not a number."))
    page = str(form)
    assert 'value="thirty"' in page
    assert '<option value="kPa" selected>' in page
    assert "&#x27;thirty&#x27; is not a number." in page


def test_the_error_and_the_hint_are_tied_to_the_input() -> None:
    form = typed("")
    page = str(form)
    assert 'for="id_pressure_0"' in page
    assert 'aria-describedby="id_pressure_helptext id_pressure_error"' in page
    assert 'aria-invalid="true"' in page
    assert 'aria-label="Unit of Pressure"' in page
    assert 'id="id_pressure_error"' in page


def test_each_of_several_errors_stands_beside_its_field() -> None:
    form = typed("31")
    show_refusal(
        form,
        FleetErrors((FleetError("a", "pressure.text", "First."), FleetError("b", "elsewhere", "Second."))),
    )
    assert form.errors["pressure"] == ["First."]
    assert form.non_field_errors() == ["Second."]


def test_an_empty_form_brings_a_key_of_its_own() -> None:
    class Signed(forms.Form):
        key = KeyField()

    assert Signed()["key"].value() != Signed()["key"].value()
    assert 'type="hidden"' in str(Signed())
    assert "Reload the page" in Signed({"key": "nonsense"}).errors["key"][0]
