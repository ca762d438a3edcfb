"""Who a program asks for."""

from typing import cast

from rest_framework.request import Request

from fleet.models import User


def person_of(request: Request) -> User:
    """Who asks: the permission has turned away anybody who has not signed in."""
    return cast(User, request.user)
