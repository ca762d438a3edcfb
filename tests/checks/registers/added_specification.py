"""A specification as it is typed."""

from checks.services.specification import add_specification
from tests.checks.registers.conftest import COMMON


def add(author, model, **changes):
    return add_specification(author=author, turbocharger_model=model, entry={**COMMON, **changes})
