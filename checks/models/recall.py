"""Recalls of instruments that came back wrong, and what their checks would have said. Nothing is overwritten."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from checks.models.assessment import Assessment
from checks.models.certificate import Certificate
from checks.models.instrument import Instrument
from fleet.models import Turbocharger
from fleet.models.constraints import only_one, rule


class Recall(models.Model):
    """Opened by a certificate whose as-found errors exceed the permissible one; closed with what was decided.

    ``since``: the issue of the certificate before, on which checks relied; empty without one. ``worst_*``: the point
    farthest beyond its permissible error, in the instrument's quantity. Where it is known that it went wrong at once,
    on ``went_wrong_on``, earlier checks stand and the whole error counts from then on.
    """

    class Manner(models.TextChoices):
        UNKNOWN = "unknown", "nobody knows when"
        AT_ONCE = "at_once", "at once, on a day that is known"

    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="recalls")
    found = models.OneToOneField(Certificate, on_delete=models.PROTECT, related_name="recall")
    since = models.DateField(null=True, blank=True)
    worst_indication = models.FloatField()
    worst_error = models.FloatField()
    worst_permissible = models.FloatField()
    manner = models.CharField(max_length=8, choices=Manner, default=Manner.UNKNOWN)
    went_wrong_on = models.DateField(null=True, blank=True)
    opened_at = models.DateTimeField(auto_now_add=True)
    judged_at = models.DateTimeField(null=True, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)
    conclusion = models.TextField(blank=True)

    class Meta:
        ordering = ["-opened_at", "-id"]
        indexes = [
            # Every plan asks which recalls are open.
            models.Index(fields=["closed_at"], name="recalls_by_closing"),
        ]
        constraints = [
            rule(
                "recall_manner_and_day",
                Q(manner="unknown", went_wrong_on__isnull=True) | Q(manner="at_once", went_wrong_on__isnull=False),
                "Give the day on which it went wrong, or say that nobody knows it.",
            ),
            rule(
                "recall_closed_with_conclusion",
                Q(closed_at__isnull=True, conclusion="") | (Q(closed_at__isnull=False) & ~Q(conclusion="")),
                "Say what was decided when a recall is closed.",
            ),
        ]

    def __str__(self) -> str:
        return f"recall of {self.instrument}"


class RecalledStroke(models.Model):
    """The verdict on one stroke as it stands (``original``) and twice again with the error found.

    ``share``: how much of the error had grown by the day ``made_on``. Results are kept whole.
    """

    class Part(models.TextChoices):
        DIAL = "dial", "dial indicator"
        STIMULUS = "stimulus", "pressure instrument or command tool"
        METER = "meter", "multimeter"

    recall = models.ForeignKey(Recall, on_delete=models.CASCADE, related_name="strokes")
    original = models.ForeignKey(Assessment, on_delete=models.CASCADE, related_name="recalled")
    part = models.CharField(max_length=8, choices=Part)
    made_on = models.DateField()
    share = models.FloatField()
    full_state = models.CharField(max_length=14, choices=Assessment.State)
    full_travel_mm = models.FloatField(null=True, blank=True)
    grown_state = models.CharField(max_length=14, choices=Assessment.State)
    grown_travel_mm = models.FloatField(null=True, blank=True)
    full = models.JSONField()
    grown = models.JSONField()
    code_version = models.CharField(max_length=20)
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["made_on", "id"]
        constraints = [
            only_one("one_recalled_stroke", ("recall", "original"), "This verdict was judged again in this recall."),
            rule("recall_share_between_0_and_1", Q(share__gte=0, share__lte=1), "A share lies between 0 and 1."),
        ]

    def __str__(self) -> str:
        return f"{self.original}, {self.full_state} or {self.grown_state}"


class RecallEntry(models.Model):
    """The trail of a recall: who did what when and why; without an author, the register did it by itself."""

    class What(models.TextChoices):
        OPENED = "opened", "opened"
        DAY_TOLD = "day_told", "told when it went wrong"
        MOVED = "moved", "counted from another certificate"
        ACCEPTED = "accepted", "accepted without another look"
        CLOSED = "closed", "closed"
        WITHDRAWN = "withdrawn", "closed, since the certificate was entered in error"

    recall = models.ForeignKey(Recall, on_delete=models.CASCADE, related_name="entries")
    what = models.CharField(max_length=10, choices=What)
    turbocharger = models.ForeignKey(Turbocharger, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    reason = models.TextField()
    author = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["made_at", "id"]
        constraints = [
            rule("recall_entry_has_reason", ~Q(reason=""), "Say why."),
            only_one(
                "one_acceptance_per_unit",
                ("recall", "turbocharger"),
                "This unit was accepted already.",
                condition=Q(what="accepted"),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_what_display()}: {self.reason}"
