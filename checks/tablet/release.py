"""Which files make up the tablet's app, and the version they are together."""

import hashlib
from functools import cache
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles import finders
from django.templatetags.static import static

FOLDER = Path(__file__).resolve().parent.parent / "static" / "checks" / "tablet"
SHARED = ("fleet/css/tokens.css", "fleet/css/base.css", "fleet/css/components.css", "checks/css/guided.css")
# The worker is fetched by the browser itself, past every cache.
APART = {"worker.js"}


def files_of_release() -> list[str]:
    """Addresses of everything that the app needs without a network, the page itself aside."""
    return [static(name) for name in _names()]


def styles_of_release() -> list[str]:
    """Addresses of its style sheets, the most general first."""
    return [static(name) for name in _names() if name.endswith(".css")]


def release() -> str:
    """The version: the same for the same files, another when any of them changed."""
    return _release() if settings.DEBUG is False else _digest()


@cache
def _release() -> str:
    return _digest()


def _digest() -> str:
    found = hashlib.sha256()
    for name in [*_names(), "checks/tablet/worker.js"]:
        path = finders.find(name)
        found.update(name.encode() + b"\0" + (Path(path).read_bytes() if path else b""))
    template = Path(__file__).resolve().parent.parent / "templates" / "checks" / "tablet" / "shell.html"
    found.update(template.read_bytes())
    return found.hexdigest()[:12]


def _names() -> list[str]:
    own = sorted(
        f"checks/tablet/{path.relative_to(FOLDER).as_posix()}"
        for path in FOLDER.rglob("*")
        if path.suffix in {".js", ".css", ".svg", ".png"} and path.name not in APART
    )
    return [*SHARED, *own]
