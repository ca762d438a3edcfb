"""What the register's addresses for programs share: rows of one's depots, and writes that go through a service."""

from typing import Any, cast

from django.db.models import Model, QuerySet
from rest_framework import generics
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import Serializer
from rest_framework.views import APIView

from fleet.models import User
from fleet.selectors.scope import visible_to
from fleet.web.access import MANAGER, TECHNICIAN, RolePermission
from fleet.web.idempotency import answered_once


class Asked(APIView):
    """An address for whoever holds a role somewhere; `scope` is the area that a token must cover."""

    permission_classes = [RolePermission]
    scope = ""

    @property
    def person(self) -> User:
        """Who asks; the permission let nobody else in."""
        return cast(User, self.request.user)


class OfDepots(Asked, generics.GenericAPIView[Any]):
    """Rows at the depots of whoever asks."""

    scope = "register"
    role_to_write: str = TECHNICIAN
    rows: QuerySet[Any]
    depot = "depot"
    entry_class: type[Serializer[Any]]
    shape_class: type[Serializer[Any]]

    def get_queryset(self) -> QuerySet[Any]:
        if getattr(self, "swagger_fake_view", False):
            return self.rows.none()
        return visible_to(self.person, self.rows.all(), depot=self.depot)

    def get_serializer_class(self) -> type[Serializer[Any]]:
        return self.shape_class

    def typed(self, request: Request, *, partial: bool = False) -> dict[str, Any]:
        """The request's values by name. Raises DRF's ValidationError."""
        entry = self.entry_class(data=request.data, partial=partial, context=self.get_serializer_context())
        entry.is_valid(raise_exception=True)
        return dict(entry.validated_data)

    def answer(self, row: Model, status: int = 200) -> Response:
        shape = self.shape_class(row, context=self.get_serializer_context())
        return Response(shape.data, status=status)


class Listing(OfDepots, generics.ListAPIView[Any]):
    """A list that may be added to."""

    def add(self, user: Any, typed: dict[str, Any]) -> Model:
        """Call the service."""
        raise NotImplementedError

    def post(self, request: Request) -> Response:
        """Add one."""
        return answered_once(request, lambda: self.answer(self.add(request.user, self.typed(request)), status=201))


class Single(OfDepots, generics.RetrieveAPIView[Any]):
    """One row that may be corrected."""

    def edit(self, user: Any, row: Any, typed: dict[str, Any]) -> Model:
        """Call the service."""
        raise NotImplementedError

    def patch(self, request: Request, pk: int) -> Response:
        """Correct what is given."""
        row = self.get_object()
        return answered_once(
            request, lambda: self.answer(self.edit(request.user, row, self.typed(request, partial=True)))
        )


class ManagedListing(Listing):
    """Everybody of the depot reads; managers add."""

    role_to_write = MANAGER


class ManagedSingle(Single):
    """Everybody of the depot reads; managers correct."""

    role_to_write = MANAGER


class Action(OfDepots):
    """Something done to one row."""

    done_status = 200

    def do(self, user: Any, row: Any, typed: dict[str, Any]) -> Model:
        """Call the service."""
        raise NotImplementedError

    def post(self, request: Request, pk: int) -> Response:
        """Do it."""
        row = self.get_object()
        return answered_once(
            request, lambda: self.answer(self.do(request.user, row, self.typed(request)), status=self.done_status)
        )
