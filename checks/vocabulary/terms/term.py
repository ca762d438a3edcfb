"""A term of the glossary."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """``name`` as sentences have it, ``meaning`` in one or two plain sentences, the ``unit`` of its values.

    ``source``: the standard or book that the term comes from; empty where it is ours or the trade's.
    ``method``: key of the method that computes it. ``state``: key of the mark drawn beside it.
    """

    name: str
    meaning: str
    unit: str = ""
    source: str = ""
    method: str = ""
    state: str = ""

    @property
    def key(self) -> str:
        """Its anchor."""
        return self.name.replace(" ", "-")


@dataclass(frozen=True, slots=True)
class TermGroup:
    """Terms that belong together, by what they are about."""

    key: str
    title: str
    terms: tuple[Term, ...]
