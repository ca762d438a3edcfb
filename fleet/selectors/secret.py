"""What is kept of secrets: codes, tokens and the addresses of calendars."""

import hashlib


def digest_of(secret: str) -> str:
    """What is kept of a secret. It has 112 random bits or more, so a plain hash cannot be guessed back."""
    return hashlib.sha256(secret.encode()).hexdigest()
