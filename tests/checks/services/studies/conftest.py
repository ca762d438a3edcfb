"""A bay that studies its measurement."""

import pytest

from tests.bay import make_bay


@pytest.fixture
def bay():
    return make_bay()
