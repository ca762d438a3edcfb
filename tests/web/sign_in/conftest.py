"""People who sign in, one of them with a second factor."""

import pytest

from fleet.models import User
from fleet.services.sign_in import begin_second_factor, confirm_second_factor
from tests.factories import MembershipFactory
from tests.web.sign_in.signing_in import PASSWORD, now


@pytest.fixture
def sedge() -> User:
    user = MembershipFactory(role="viewer", user__username="sedge").user
    user.set_password(PASSWORD)
    user.save()
    return user


@pytest.fixture
def guarded(sedge: User) -> tuple[User, list[str]]:
    """A person with the second factor on, and the recovery codes."""
    begin_second_factor(user=sedge)
    return sedge, confirm_second_factor(user=sedge, code=now(sedge))
