"""Rows of the registers as their pages show them."""

import pytest

from checks.services.instrument import add_instrument
from tests.checks.registers.conftest import DIAL


@pytest.fixture
def dial(manager, depot):
    return add_instrument(author=manager, kind="dial", entry={**DIAL, "depot": str(depot.pk)})
