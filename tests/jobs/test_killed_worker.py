"""A real worker, killed in the middle of a job."""

import os
import subprocess
import sys

import pytest
from django.conf import settings


@pytest.mark.worker
def test_killing_the_worker_loses_nothing_and_doubles_nothing() -> None:
    script = settings.BASE_DIR / "tests" / "load" / "kill_worker.py"
    clean = {name: value for name, value in os.environ.items() if name not in {"DATABASE_URL", "SECRET_KEY"}}
    answer = subprocess.run(
        [sys.executable, str(script), "--kills", "1"], capture_output=True, text=True, env=clean, timeout=400
    )
    assert "state = done, lost = 0, doubled = 0" in answer.stdout, answer.stdout + answer.stderr
