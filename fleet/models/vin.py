"""The vehicle identification number and its check digit."""

from dataclasses import dataclass

from fleet.problems import FleetError

LENGTH = 17
CHECK_POSITION = 8
SIGNS = "0123456789ABCDEFGHJKLMNPRSTUVWXYZ"
VALUES = {sign: int(digit) for sign, digit in zip(SIGNS, "012345678912345678123457923456789", strict=True)}
WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)


@dataclass(frozen=True, slots=True)
class VinWord:
    """What may be said of a VIN: a word for lists and the sentence behind it."""

    word: str
    sentence: str


def expected_check_digit(vin: str) -> str:
    """The character that belongs in position 9 of a VIN of 17 known characters.

    Source: 49 CFR 565.15(c): transliterated values times weights, the remainder of their sum by 11, 10 written X.
    """
    remainder = sum(VALUES[sign] * weight for sign, weight in zip(vin, WEIGHTS, strict=True)) % 11
    return "X" if remainder == 10 else str(remainder)


def read_vin(text: str, *, check_digit_required: bool) -> str:
    """Return the VIN in capitals without blanks; refuse one that cannot be right, saying what was expected."""
    vin = "".join(text.split()).upper()
    if not vin:
        return ""
    strange = [sign for sign in dict.fromkeys(vin) if sign not in VALUES]
    if strange:
        raise FleetError(
            "vin_signs", "vin", f"A VIN has capital letters and digits but never I, O or Q; found {' '.join(strange)}."
        )
    if len(vin) != LENGTH:
        raise FleetError("vin_length", "vin", f"A VIN has {LENGTH} characters; this one has {len(vin)}.")
    expected = expected_check_digit(vin)
    if check_digit_required and vin[CHECK_POSITION] != expected:
        raise FleetError(
            "vin_check_digit",
            "vin",
            f"The check digit, position 9, is {vin[CHECK_POSITION]} but must be {expected} for these characters. "
            "Compare with the plate; where the truck's market uses no check digit, say so beside the VIN.",
        )
    return vin


def word_for(vin: str, *, check_digit_required: bool) -> VinWord:
    """Say how far a stored VIN has been verified."""
    if not vin:
        return VinWord("none given", "")
    if not check_digit_required:
        return VinWord("not checked", "Its market uses no check digit, so a slip of the pen would not be noticed.")
    return VinWord("check digit agrees", "One wrong VIN in eleven would agree too, so compare the plate.")
