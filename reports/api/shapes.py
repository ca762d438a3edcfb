"""Reviews as programs read and ask for them."""

from typing import Any, cast

from django.urls import reverse
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from fleet.api.entries import Visible
from fleet.api.strict import Entry
from fleet.models import Depot, Job, User
from reports.models import ReviewFile
from reports.selectors.reviews import ReviewRow, review_run


class ReviewFileShape(serializers.Serializer[Any]):
    """A file made from what was frozen."""

    kind = serializers.ChoiceField(choices=ReviewFile.Kind.values)
    size = serializers.IntegerField(help_text="In bytes.")
    address = serializers.SerializerMethodField()

    def get_address(self, row: Any) -> str:
        """Where it is read."""
        return reverse("api-review-file", args=[self.context["review"], row.kind])


class ReviewShape(serializers.Serializer[Any]):
    """A run of the review, with the state of its job."""

    id = serializers.IntegerField(source="pk")
    month = serializers.SerializerMethodField(help_text="Such as 2026-10.")
    depot = serializers.CharField(source="depot_code", allow_null=True, help_text="Short name; null: the whole fleet.")
    asked_at = serializers.DateTimeField()
    asked_by = serializers.CharField()
    frozen_at = serializers.DateTimeField(allow_null=True)
    digest = serializers.CharField(allow_blank=True, help_text="SHA-256 of what was frozen.")
    state = serializers.ChoiceField(choices=Job.State.choices)
    percent = serializers.IntegerField(allow_null=True)
    message = serializers.CharField(allow_blank=True)
    error = serializers.CharField(allow_blank=True)
    job = serializers.SerializerMethodField(help_text="Address of its job, which whoever asked for it may read.")
    files = serializers.SerializerMethodField()

    def get_month(self, row: ReviewRow) -> str:
        """Year and month."""
        return f"{row.month:%Y-%m}"

    def get_job(self, row: ReviewRow) -> str | None:
        """Its job."""
        return reverse("api-job", args=[row.job]) if row.job else None

    @extend_schema_field(ReviewFileShape(many=True))
    def get_files(self, row: ReviewRow) -> list[dict[str, Any]]:
        """Its files so far."""
        return [dict(ReviewFileShape(one, context={"review": row.pk}).data) for one in row.files]


class ReviewDetailShape(ReviewShape):
    """The same with the sentences of its first page, once it is made."""

    sentences = serializers.SerializerMethodField()

    def get_sentences(self, row: ReviewRow) -> list[str]:
        """Its summary; empty until it is frozen."""
        run = review_run(cast(User, self.context["request"].user), row.pk)
        return list(run.sentences) if run else []


class ReviewEntry(Entry):
    """The run that is asked for."""

    month = serializers.RegexField(r"^\d{4}-\d{2}$", help_text="A month that is over, such as 2026-10.")
    depot = Visible(Depot, required=False, allow_null=True, help_text="Left out or null: the whole fleet.")
