"""The fleet's policy for programs, to read."""

from rest_framework import generics, serializers
from rest_framework.request import Request
from rest_framework.response import Response

from checks.models import Policy
from checks.selectors.policy import current_policy
from fleet.models import Membership
from fleet.web.access import RolePermission


class PolicySerializer(serializers.ModelSerializer[Policy]):
    """The fleet's policy; distances in km."""

    class Meta:
        model = Policy
        exclude = ["id"]


class PolicyDetail(generics.GenericAPIView[Policy]):
    """The fleet's policy."""

    permission_classes = [RolePermission]
    scope = "specifications"
    role_to_write = Membership.Role.MANAGER
    serializer_class = PolicySerializer

    def get(self, request: Request) -> Response:
        """Show the policy."""
        return Response(PolicySerializer(current_policy()).data)
