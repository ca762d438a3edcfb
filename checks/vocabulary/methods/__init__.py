"""How each number is computed, in the order in which the page shows it. A new method is a `Method` in one of these."""

from checks.vocabulary.methods import check, drift, fleet, fuel, planning
from checks.vocabulary.methods.method import Method, MethodGroup

GROUPS: tuple[MethodGroup, ...] = (check.METHODS, drift.METHODS, planning.METHODS, fuel.METHODS, fleet.METHODS)
METHODS: dict[str, Method] = {method.key: method for group in GROUPS for method in group.methods}

__all__ = ["GROUPS", "METHODS", "Method", "MethodGroup"]
