"""Background work for programs: how far a job is that one asked for."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.base import Asked
from fleet.models import Job
from fleet.selectors.jobs import job_row


class JobShape(serializers.Serializer[Any]):
    """A job; ``done`` of ``total`` steps or rows, ``total`` null while it is not known."""

    id = serializers.IntegerField()
    kind = serializers.CharField()
    state = serializers.ChoiceField(choices=Job.State.choices)
    done = serializers.IntegerField()
    total = serializers.IntegerField(allow_null=True)
    percent = serializers.IntegerField(allow_null=True)
    seconds_left = serializers.FloatField(allow_null=True)
    message = serializers.CharField(allow_blank=True)
    error = serializers.CharField(allow_blank=True)


class JobDetail(Asked):
    """One job."""

    scope = "reviews"

    @extend_schema(responses=JobShape)
    def get(self, request: Request, pk: int) -> Response:
        """How far it is, for whoever asked for it. Ask again until its state is done, failed or cancelled."""
        return Response(JobShape(job_row(self.person, job_id=pk)).data)
