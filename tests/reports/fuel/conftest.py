"""A fleet with trips."""

import pytest

from tests.thirsty_fleet import make_thirsty_fleet


@pytest.fixture
def fleet():
    made = make_thirsty_fleet(inside=8, low=7, high=6)
    made.drive(months=6)
    return made
