"""What lets a program act for a person, and what a program's keyed writes were answered with."""

from django.db import models
from django.db.models import F, Q

from fleet.models.constraints import only_one, rule
from fleet.models.user import User


class Token(models.Model):
    """A person's permission for one program, never deleted. Only the secret's digest is kept.

    ``scopes``: such as ``register:read`` or ``checks:write``; ``begins``: the secret's first characters, to tell it by.
    """

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="tokens")
    name = models.CharField(max_length=60)
    digest = models.CharField(max_length=64, unique=True)
    begins = models.CharField(max_length=12)
    scopes = models.JSONField()
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    last_used_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)
    revoked_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")

    class Meta:
        ordering = ["-made_at", "-id"]
        constraints = [
            rule("token_expires_after_made", Q(expires_at__gt=F("made_at")), "A token must end after it was made."),
            rule(
                "token_revoker_needs_time",
                Q(revoked_by__isnull=True) | Q(revoked_at__isnull=False),
                "Say when the token was revoked.",
            ),
            only_one(
                "one_live_token_per_name",
                ("user", "name"),
                "You already have a token of this name. Revoke it, or give this one another name.",
                condition=Q(revoked_at__isnull=True),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} of {self.user}"


class KeyedRequest(models.Model):
    """A program's write and its answer, found again by the key that the program made for it.

    ``content``: digest of method, address and body; ``answer``: what was answered, as JSON.
    """

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="keyed_requests")
    token = models.ForeignKey(Token, on_delete=models.SET_NULL, null=True, blank=True, related_name="requests")
    key = models.UUIDField()
    method = models.CharField(max_length=8)
    path = models.CharField(max_length=300)
    content = models.CharField(max_length=64)
    status = models.PositiveSmallIntegerField(default=0)
    answer = models.JSONField(null=True, blank=True)
    made_at = models.DateTimeField()

    class Meta:
        ordering = ["-made_at", "-id"]
        indexes = [
            # Old answers are cleared away by age.
            models.Index(fields=["made_at"], name="keyed_request_by_age"),
        ]
        constraints = [
            only_one("one_answer_per_key", ("user", "key"), "This key was used before."),
        ]

    def __str__(self) -> str:
        return f"{self.method} {self.path}"
