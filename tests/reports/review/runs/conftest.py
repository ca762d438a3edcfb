"""Somebody who belongs to every depot."""

import pytest

from fleet.models import User
from tests.factories import UserFactory


@pytest.fixture
def director(march) -> User:
    """A person of every depot."""
    return UserFactory(is_superuser=True)
