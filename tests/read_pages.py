"""Pages as a reader takes them in."""

import re
from typing import Any

from django.test import Client


def read(client: Client, user: Any, address: str) -> str:
    """What an address answers to somebody who is signed in."""
    client.force_login(user)
    answer = client.get(address)
    assert answer.status_code == 200
    return answer.getvalue().decode()


def words(page: str) -> str:
    """A page's text with single blanks."""
    return " ".join(re.sub(r"<[^>]+>", " ", page).split())


def text(answer: Any) -> str:
    """An answer's page with single blanks, tags and all."""
    return " ".join(answer.content.decode().split())


def lead(page: str) -> str:
    """The sentences with which a page opens, with single blanks."""
    return re.sub(r"\s+", " ", re.search(r'<p class="lead">(.*?)</p>', page, re.S)[1])  # type: ignore[index]
