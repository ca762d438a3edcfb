"""A deployment refuses to start without its secret, and is strict when it has one."""

import os
import subprocess
import sys
from pathlib import Path

from django.conf import settings


def check(tmp_path: Path, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "manage.py", "check", "--deploy", "--fail-level", "WARNING"],
        cwd=settings.BASE_DIR, capture_output=True, text=True,
        env={"PATH": os.environ["PATH"], "VAR_DIR": str(tmp_path), **environment},
    )  # fmt: skip


def test_a_deployment_without_its_secret_does_not_start(tmp_path: Path) -> None:
    answer = check(tmp_path)
    assert answer.returncode != 0
    assert "SECRET_KEY" in answer.stderr
    assert not (tmp_path / "secret_key").exists()


def test_a_deployment_with_a_short_secret_does_not_start(tmp_path: Path) -> None:
    assert "too short" in check(tmp_path, SECRET_KEY="guess").stderr


def test_a_deployment_passes_the_frameworks_own_checks(tmp_path: Path) -> None:
    answer = check(tmp_path, SECRET_KEY="aB3$" * 20 + "xyzw!uvtsrq", ALLOWED_HOSTS="register.example")
    assert answer.returncode == 0, answer.stderr
