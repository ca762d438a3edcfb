"""Whether the broker answers. Work waits in the ledger while it does not."""

import os
from typing import Any

from django.conf import settings
from redis import Redis
from redis.exceptions import RedisError

PATIENCE_S = 1.0


def answers() -> bool:
    """Whether a message could be left now; never waits longer than a second or two."""
    return bool(identity())


def identity() -> str:
    """What tells the broker that runs now from the one before it was restarted; empty when it does not answer."""
    if not settings.REDIS_URL:
        return "folder" if os.access(settings.BROKER_DIR / "bell", os.W_OK) else ""
    patience: dict[str, Any] = {"socket_timeout": PATIENCE_S, "socket_connect_timeout": PATIENCE_S}
    try:
        with Redis.from_url(settings.REDIS_URL, **patience) as connection:
            facts: Any = connection.info("server")
            return str(facts["run_id"])
    except (RedisError, OSError):
        return ""
