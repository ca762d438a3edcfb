"""A bay that is planned."""

import pytest

from tests.bay import make_bay


@pytest.fixture
def bay():
    """A bay that makes one check a day from Monday to Friday."""
    bay = make_bay()
    bay.depot.checks_per_day = 1
    bay.depot.save()
    return bay
