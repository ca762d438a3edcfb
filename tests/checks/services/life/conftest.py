"""A fleet whose units leave their window."""

import pytest

from tests.drifting_fleet import DriftingFleet, make_bay
from tests.living_fleet import INSIDE_MM


@pytest.fixture
def fleet() -> DriftingFleet:
    made = DriftingFleet(make_bay())
    # Records begin a hundred days after the fittings.
    made.add_check(made.add_unit(), 100, INSIDE_MM)
    return made
