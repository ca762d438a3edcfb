"""Services write; everything else reads. Read from the syntax tree, since a search for words would be noisy."""

import ast
from collections.abc import Iterator

import pytest

from tests.house.source import modules

MAY_WRITE = (
    "fleet/services/", "fleet/jobs/", "fleet/imports/", "checks/services/", "reports/services/",
    "fleet/management/demo/",  # makes two years in bulk, in a database that holds nothing else
)  # fmt: skip
WRITES = {
    "save", "asave", "delete", "create", "bulk_create", "bulk_update", "get_or_create", "update_or_create", "save_base",
}  # fmt: skip


def writes_in(tree: ast.AST) -> Iterator[int]:
    """Yield the line of every call that writes rows."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            # A queryset's update() takes keywords alone, a dictionary's an argument.
            only_keywords = bool(node.keywords) and not node.args
            if node.func.attr in WRITES or (node.func.attr == "update" and only_keywords):
                yield node.lineno


@pytest.mark.parametrize("line", ["row.save()", "Job.objects.filter(pk=1).update(state='done')", "rows.delete()"])
def test_the_search_finds_a_write(line: str) -> None:
    assert list(writes_in(ast.parse(line))) == [1]


@pytest.mark.parametrize("line", ["settings.update({'a': 1})", "rows.filter(pk=1)", "answer.get('save')"])
def test_the_search_leaves_reading_alone(line: str) -> None:
    assert list(writes_in(ast.parse(line))) == []


def test_only_services_jobs_and_imports_write() -> None:
    wrong = [f"{path}:{line}" for path, tree in modules() if not path.startswith(MAY_WRITE) for line in writes_in(tree)]
    assert wrong == []


def test_nobody_listens_to_signals() -> None:
    wrong = [
        path
        for path, tree in modules()
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and (node.module or "").endswith(("db.models.signals", "django.dispatch"))
    ]
    assert wrong == []


def test_models_leave_save_alone() -> None:
    wrong = [
        f"{path}:{node.lineno}"
        for path, tree in modules()
        if "/models/" in path
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef) and node.name in {"save", "delete", "clean"}
    ]
    assert wrong == []
