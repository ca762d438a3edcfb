"""The project's own settings for a server that a test starts: its static files lie beside its data, not with make's."""

from fleet.settings import *

STATIC_ROOT = VAR_DIR / "static"
