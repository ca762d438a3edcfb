"""What programs receive and send of complaints."""

from rest_framework import serializers

from fleet.api.entries import Visible
from fleet.api.strict import Entry
from fleet.models import Complaint, Truck


class ComplaintShape(serializers.ModelSerializer[Complaint]):
    """A complaint as programs receive it."""

    answered_by = serializers.SerializerMethodField(help_text="Id of the check that answered it; null without one.")

    class Meta:
        model = Complaint
        fields = [
            "id", "truck", "kind", "raised_on", "raised_by", "text", "finding", "closed_on", "answered_by",
        ]  # fmt: skip

    def get_answered_by(self, complaint: Complaint) -> int | None:
        """The check chosen when it was closed."""
        answer = getattr(complaint, "answer", None)
        return answer.check_made_id if answer else None


class ComplaintEntry(Entry):
    """A new complaint."""

    truck = Visible(Truck)
    kind = serializers.ChoiceField(choices=Complaint.Kind.choices)
    raised_on = serializers.DateField()
    raised_by = serializers.CharField(max_length=80)
    text = serializers.CharField(required=False, allow_blank=True, max_length=4000)


class ComplaintChange(Entry):
    """What of a complaint is amended, and why."""

    kind = serializers.ChoiceField(choices=Complaint.Kind.choices, required=False)
    raised_on = serializers.DateField(required=False)
    raised_by = serializers.CharField(max_length=80, required=False)
    text = serializers.CharField(required=False, allow_blank=True, max_length=4000)
    reason = serializers.CharField(max_length=100, required=False, help_text="Needed: why it is amended.")


class CloseEntry(Entry):
    """What was found."""

    finding = serializers.CharField(max_length=4000)
    closed_on = serializers.DateField(required=False, help_text="Today where it is left out.")
    check = serializers.IntegerField(
        required=False, allow_null=True, help_text="Id of the check that answered it, of this truck's turbochargers."
    )
