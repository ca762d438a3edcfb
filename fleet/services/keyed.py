"""A write that a program sends again is answered again, not done again."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from fleet.models import KeyedRequest, Token, User
from fleet.problems import FleetError

KEPT_DAYS = 30


@dataclass(frozen=True, slots=True)
class Asked:
    """What identifies a program's write; `content` is a digest of everything that was sent."""

    user: User
    token: Token | None
    key: UUID
    method: str
    path: str
    content: str


@dataclass(frozen=True, slots=True)
class Answer:
    """What a write was answered with; `location` may be empty."""

    status: int
    body: Any
    location: str = ""


@transaction.atomic
def answer_once(asked: Asked, do: Callable[[], Answer]) -> tuple[Answer, bool]:
    """Do what is asked and keep its answer, or return the answer of the first time; says whether it was kept.

    What `do` writes and its answer commit together. A refusal keeps nothing, so that the same key may be sent
    again with what was wrong put right.
    """
    made = {name: getattr(asked, name) for name in ("token", "method", "path", "content")}
    kept, fresh = KeyedRequest.objects.get_or_create(
        user=asked.user, key=asked.key, defaults={**made, "made_at": timezone.now()}
    )
    if not fresh:
        if kept.content != asked.content:
            sentence = f"The key {asked.key} was used for another request. Make a new UUID for each request."
            raise FleetError("key_used_otherwise", "Idempotency-Key", sentence, status=409)
        known: dict[str, Any] = kept.answer or {}
        return Answer(kept.status, known["body"], known["location"]), True
    answer = do()
    kept.status, kept.answer = answer.status, {"body": answer.body, "location": answer.location}
    kept.save(update_fields=["status", "answer"])
    return answer, False


def clear_old_answers() -> int:
    """Forget answers that nobody will ask for again; returns how many."""
    old = KeyedRequest.objects.filter(made_at__lt=timezone.now() - timedelta(days=KEPT_DAYS))
    return old.delete()[0] if old.exists() else 0
