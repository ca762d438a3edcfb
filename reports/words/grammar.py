"""Small words of sentences."""

from collections.abc import Sequence

NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


def number(n: int) -> str:
    """Such as ``no``, ``two``, ``1,204``."""
    return NUMBERS[n] if n < len(NUMBERS) else f"{n:,}"


def count_of(n: int, noun: str, plural: str = "") -> str:
    """Such as ``no unit``, ``one unit``, ``two units``, ``1,204 units``."""
    return f"{number(n)} {noun if n < 2 else plural or noun + 's'}"


def verb(n: int, one: str, many: str) -> str:
    """The verb that goes with `count_of` so many, such as ``is`` or ``are``."""
    return one if n < 2 else many


def listing(parts: Sequence[str]) -> str:
    """Such as ``a, b and c``."""
    return " and ".join(parts) if len(parts) < 3 else f"{', '.join(parts[:-1])} and {parts[-1]}"


def capital(sentence: str) -> str:
    """Return the sentence with its first letter large."""
    return sentence[:1].upper() + sentence[1:]
