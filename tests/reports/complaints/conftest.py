"""A bay whose truck is complained about."""

import pytest

from tests.bay import make_bay


@pytest.fixture
def bay():
    return make_bay()
