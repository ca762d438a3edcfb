"""Where the plotting script comes from: the installed package, of which only this one file is served."""

from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from django.contrib.staticfiles.finders import BaseFinder
from django.core.files.storage import FileSystemStorage

SERVED = "plotting/plotly.min.js"


class PlottingScriptFinder(BaseFinder):
    """Finds ``plotting/plotly.min.js``."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        spec = find_spec("plotly")
        folder = Path(spec.origin or "").parent / "package_data" if spec else Path()
        self.storage = FileSystemStorage(location=folder)
        # Where collectstatic puts what this storage offers.
        self.storage.prefix = "plotting"  # type: ignore[attr-defined]

    def check(self, **kwargs: Any) -> list[Any]:
        """Nothing to warn of: a missing file fails where it is collected."""
        return []

    def find(self, path: str, find_all: bool = False, **kwargs: Any) -> Any:
        """Return the script's place for its one name."""
        if path != SERVED:
            return []
        found = self.storage.path("plotly.min.js")
        return [found] if find_all else found

    def list(self, ignore_patterns: Any) -> Iterator[tuple[str, FileSystemStorage]]:
        """Offer the one file for collection."""
        yield "plotly.min.js", self.storage
