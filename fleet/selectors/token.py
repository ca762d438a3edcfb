"""Whose tokens there are, what each may do, and whom a secret stands for."""

from dataclasses import dataclass
from datetime import datetime

from django.db.models import Q, QuerySet
from django.utils import timezone

from fleet.models import Membership, Token, User
from fleet.selectors.scope import depots_of
from fleet.selectors.secret import digest_of

# Area of the interface -> what it holds. A view names its area in `scope`; a new area is one line here.
AREAS = {
    "register": "depots, trucks, engines, turbochargers, fitments, meters, notes",
    "specifications": "specifications and the policy",
    "instruments": "instruments, certificates, recalls",
    "checks": "checks with their verdicts",
    "plans": "forecasts, due dates, days in the bay",
    "trips": "trips, their batches and files",
    "complaints": "complaints",
    "fuel": "fuel prices",
    "studies": "measurement studies",
    "reviews": "monthly reviews",
}
SCOPES = {
    f"{area}:{act}": f"{word} {what}"
    for area, what in AREAS.items()
    for act, word in (("read", "read"), ("write", "write"))
}
LIVE, EXPIRED, REVOKED = "in use", "expired", "revoked"


@dataclass(frozen=True, slots=True)
class TokenRow:
    """A token as pages show it."""

    pk: int
    name: str
    person: str
    begins: str
    scopes: tuple[str, ...]
    made_at: datetime
    expires_at: datetime
    last_used_at: datetime | None
    revoked_at: datetime | None
    revoked_by: str
    state: str

    @property
    def live(self) -> bool:
        return self.state == LIVE


def own_tokens(user: User) -> list[TokenRow]:
    """Every token that `user` made, the newest first. One query."""
    return [_row(token) for token in _tokens().filter(user=user)]


def live_tokens(user: User) -> QuerySet[Token]:
    """The tokens of `user` that still open something."""
    return Token.objects.filter(user=user, revoked_at=None, expires_at__gt=timezone.now())


def tokens_of_people(user: User) -> list[TokenRow]:
    """Tokens of others at the depots that `user` manages. One query."""
    return [_row(token) for token in revocable(user).exclude(user=user).order_by("user__username", "-made_at")]


def revocable(user: User) -> QuerySet[Token]:
    """Tokens that `user` may end: the own ones, and those of people at depots that `user` manages."""
    if user.is_superuser:
        return _tokens()
    managed = depots_of(user, role=Membership.Role.MANAGER)
    people = Membership.objects.filter(depot__in=managed).values("user")
    return _tokens().filter(Q(user=user) | Q(user__in=people, user__is_superuser=False))


def token_for(secret: str) -> Token | None:
    """The token that a secret belongs to, whether or not it still opens anything. One query.

    Looked up by the digest, so that the time which the search takes says nothing about the secret.
    """
    return Token.objects.select_related("user").filter(digest=digest_of(secret)).first()


def state_of(token: Token) -> str:
    """In use, expired or revoked."""
    if token.revoked_at is not None:
        return REVOKED
    return LIVE if token.expires_at > timezone.now() else EXPIRED


def _tokens() -> QuerySet[Token]:
    return Token.objects.select_related("user", "revoked_by")


def _row(token: Token) -> TokenRow:
    return TokenRow(
        pk=token.pk,
        name=token.name,
        person=token.user.display_name,
        begins=token.begins,
        scopes=tuple(token.scopes),
        made_at=token.made_at,
        expires_at=token.expires_at,
        last_used_at=token.last_used_at,
        revoked_at=token.revoked_at,
        revoked_by=token.revoked_by.display_name if token.revoked_by else "",
        state=state_of(token),
    )
