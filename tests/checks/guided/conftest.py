"""A bay and somebody who walks through a check there."""

import pytest

from tests.bay import Bay, make_bay
from tests.walk import Walk


@pytest.fixture
def bay(db: None) -> Bay:
    return make_bay()


@pytest.fixture
def walk(bay: Bay) -> Walk:
    return Walk(bay)
