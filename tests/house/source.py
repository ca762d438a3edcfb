"""The project's own source, as syntax trees."""

import ast
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("fleet", "checks", "reports")


def modules(*packages: str) -> Iterator[tuple[str, ast.Module]]:
    """Yield the path below the root and the tree of every module but migrations."""
    for package in packages or PACKAGES:
        for path in sorted((ROOT / package).rglob("*.py")):
            if "migrations" not in path.parts:
                yield path.relative_to(ROOT).as_posix(), ast.parse(path.read_text())


def templates() -> Iterator[tuple[str, str]]:
    """Yield the path below the root and the text of every template."""
    for package in PACKAGES:
        for path in sorted((ROOT / package).rglob("templates/**/*.html")):
            yield path.relative_to(ROOT).as_posix(), path.read_text()
