"""What stands in an address, where anybody may write anything."""

from collections.abc import Iterable


def number_in(text: str) -> int | None:
    """Return the row's key or number of a page that `text` is, None where it is neither."""
    # Fifteen digits fit every database's integers.
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 16 else None


def numbers_in(texts: Iterable[str]) -> list[int]:
    """Return those of `texts` that are numbers."""
    return [number for text in texts if (number := number_in(text)) is not None]
