"""A bay that works every day."""

import pytest

from tests.bay import make_bay
from tests.reports.week_units import all_week


@pytest.fixture
def bay():
    """A bay that works every day."""
    return all_week(make_bay(), room=2)
