"""A fleet with trips."""

from copy import deepcopy

import pytest

from tests.thirsty_fleet import make_thirsty_fleet


@pytest.fixture(scope="module")
def made(kept):
    made = make_thirsty_fleet(inside=8, low=7, high=6)
    made.drive(months=6)
    return made


@pytest.fixture
def fleet(made):
    return deepcopy(made)
