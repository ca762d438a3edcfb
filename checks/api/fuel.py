"""Fuel prices for programs. The service reads every entry."""

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import generics, serializers
from rest_framework.request import Request
from rest_framework.response import Response

from checks.api.person import person_of
from checks.api.submission import QuantitySerializer
from checks.models import FuelPrice
from checks.selectors.fuel_price import prices_of
from checks.services.fuel_price import add_price
from fleet.api.strict import object_sent
from fleet.models import Membership
from fleet.web.access import RolePermission
from fleet.web.idempotency import answered_once


class FuelPriceSerializer(serializers.ModelSerializer[FuelPrice]):
    """A price; without a depot it holds wherever there is none of its own."""

    depot = serializers.CharField(source="depot.code", read_only=True, allow_null=True, default=None)

    class Meta:
        model = FuelPrice
        fields = ["id", "depot", "valid_from", "per_litre", "currency", "typed"]


class FuelPriceEntrySerializer(serializers.Serializer[Any]):
    """A new price; ``depot`` is its key, or 'fleet' for every depot without a price of its own."""

    depot = serializers.CharField()
    valid_from = serializers.DateField()
    price = QuantitySerializer()
    currency = serializers.CharField()


class FuelPrices(generics.ListAPIView[FuelPrice]):
    """Prices of the fleet and of one's depots; a manager adds one. Correcting is done in the pages."""

    permission_classes = [RolePermission]
    scope = "fuel"
    role_to_write = Membership.Role.MANAGER
    serializer_class = FuelPriceSerializer
    queryset = FuelPrice.objects.none()  # what it is a list of, for the description

    def get_queryset(self) -> QuerySet[FuelPrice]:
        return prices_of(person_of(self.request))

    @extend_schema(request=FuelPriceEntrySerializer, responses={201: FuelPriceSerializer})
    def post(self, request: Request) -> Response:
        """Add a price."""
        sent = object_sent(request, FuelPriceEntrySerializer)
        return answered_once(request, lambda: self.added(sent))

    def added(self, entry: dict[str, Any]) -> Response:
        """Add the price that the entry names."""
        row = add_price(author=person_of(self.request), entry=entry)
        return Response(FuelPriceSerializer(row).data, status=201)
