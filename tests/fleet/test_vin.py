"""The check digit of 49 CFR 565.15 and what else a VIN must satisfy."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.models.vin import VALUES, expected_check_digit, read_vin, word_for
from fleet.problems import FleetError
from tests.fleet.outcome import outcome

# Table V of 49 CFR 565.15, read in a third-party page that quotes the regulation: its ninth sign is the answer.
REGULATION_SAMPLE = "1G4AH59H{}5G118341"
# A widely used test string, seen in many public test suites.
COMMON_SAMPLE = "1M8GDM9AXKP042788"


@pytest.mark.parametrize(
    ("vin", "expected"),
    [
        (REGULATION_SAMPLE.format("0"), "4"),
        (COMMON_SAMPLE, "X"),
        ("1" * 17, "1"),  # the weights of 565.15 add up to 89 = 8 * 11 + 1
    ],
)
def test_the_check_digit_agrees_with_the_regulation(vin, expected):
    assert expected_check_digit(vin) == expected


def test_a_vin_is_read_in_capitals_and_without_blanks():
    assert read_vin(" 1m8gdm9a xkp042788 ", check_digit_required=True) == COMMON_SAMPLE


def test_a_wrong_check_digit_names_the_expected_one():
    with pytest.raises(FleetError, match="is 0 but must be X") as caught:
        read_vin("1M8GDM9A0KP042788", check_digit_required=True)
    assert (caught.value.code, caught.value.field) == ("vin_check_digit", "vin")


def test_a_market_without_check_digit_accepts_any_ninth_sign():
    assert read_vin("1M8GDM9A0KP042788", check_digit_required=False) == "1M8GDM9A0KP042788"


def test_a_vin_that_was_not_verified_is_shown_as_not_checked():
    assert word_for(COMMON_SAMPLE, check_digit_required=False).word == "not checked"
    assert word_for(COMMON_SAMPLE, check_digit_required=True).word == "check digit agrees"
    assert word_for("", check_digit_required=True).word == "none given"


@pytest.mark.parametrize("sign", ["I", "O", "Q", "-", "É"])
def test_signs_that_no_vin_has_are_refused(sign):
    with pytest.raises(FleetError, match=sign) as caught:
        read_vin(f"1M8GDM9A{sign}KP042788", check_digit_required=False)
    assert caught.value.code == "vin_signs"


@pytest.mark.parametrize("vin", ["1M8GDM9AXKP04278", "1M8GDM9AXKP0427888"])
def test_a_vin_of_another_length_is_refused(vin):
    with pytest.raises(FleetError, match="17 characters") as caught:
        read_vin(vin, check_digit_required=True)
    assert caught.value.code == "vin_length"


@given(st.text(alphabet=sorted(VALUES), min_size=17, max_size=17))
def test_every_vin_has_exactly_one_valid_check_digit(vin):
    accepted = []
    for sign in "0123456789X":
        read, error = outcome(read_vin, vin[:8] + sign + vin[9:], check_digit_required=True)
        accepted.append(read)
        assert error is None or error.code == "vin_check_digit"
    assert sum(read is not None for read in accepted) == 1


@given(st.text(max_size=40))
def test_no_text_makes_the_reader_fail_otherwise(text):
    read, error = outcome(read_vin, text, check_digit_required=True)
    assert error.field == "vin" if error else len(read) in {0, 17}
