"""How long a sign-in lasts: a shift at most, and less when nothing is asked for hours.

In the database, so that it can be ended from elsewhere. It is read whenever somebody is recognised, so the rules hold
for pages and for programs that use a session.
"""

import time
from typing import Any

from django.conf import settings
from django.contrib.sessions.backends.db import SessionStore as DatabaseSession

BEGAN, SEEN = "began", "seen"
# How exactly the last request is known; each note of it is a write.
NOTED_EVERY_S = 600


class SessionStore(DatabaseSession):
    """A session that knows when its sign-in was and when it was last used."""

    def load(self) -> dict[str, Any]:
        """Return what is kept, and nothing once the sign-in has run out."""
        kept: dict[str, Any] = super().load()
        now = time.time()
        if BEGAN in kept:
            idle_s = settings.SESSION_IDLE_HOURS * 3600
            if now - kept[BEGAN] > settings.SESSION_COOKIE_AGE or now - kept[SEEN] > idle_s:
                self.flush()
                return {}
            if now - kept[SEEN] > NOTED_EVERY_S:
                kept[SEEN] = now
                self.modified = True
        return kept

    def cycle_key(self) -> None:
        """Take another key, as at each sign-in: whoever knew the old one knows nothing."""
        super().cycle_key()
        self.begin()

    def begin(self) -> None:
        """Let the time of a sign-in run from now."""
        self[BEGAN] = self[SEEN] = time.time()
