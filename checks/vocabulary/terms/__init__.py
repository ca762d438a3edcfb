"""The glossary, in the order in which the page shows it. A new term is a `Term` in one of these files."""

import re

from checks.vocabulary.terms import drift, fleet, fuel, instruments, states, uncertainty, work
from checks.vocabulary.terms.term import Term, TermGroup

GROUPS: tuple[TermGroup, ...] = (
    work.TERMS, states.OF_READINGS, states.OF_UNITS, instruments.TERMS, uncertainty.TERMS, drift.TERMS, fuel.TERMS,
    fleet.TERMS,
)  # fmt: skip
TERMS: dict[str, Term] = {term.name: term for group in GROUPS for term in group.terms}
_BY_NAME = {name.lower(): term for name, term in TERMS.items()}


def term_named(name: str) -> Term | None:
    """The term of this name, whatever its case."""
    return _BY_NAME.get(re.sub(r"\s+", " ", name).strip().lower())


__all__ = ["GROUPS", "TERMS", "Term", "TermGroup", "term_named"]
