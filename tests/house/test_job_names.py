"""Jobs and upkeep are given by dotted names, so that no process loads what it does not do."""

import subprocess
import sys

import pytest
from django.conf import settings

from fleet.jobs.registry import kind_of, kinds, upkeep

HEAVY = ("scipy.stats", "matplotlib", "pandas", "plotly", "typst", "statsmodels")
START = f"""
import sys
import django
django.setup()
print([name for name in {HEAVY} if name in sys.modules])
"""


@pytest.mark.parametrize("kind", kinds())
def test_every_kind_of_job_is_done_by_something_that_is_there(kind) -> None:
    assert callable(kind_of(kind).handler)


def test_all_upkeep_is_there() -> None:
    assert upkeep()
    assert all(callable(work) for work in upkeep())


def test_a_process_starts_without_what_only_jobs_need() -> None:
    command = [sys.executable, "-c", START]
    env = {"LOCAL": "1", "VAR_DIR": str(settings.VAR_DIR), "DJANGO_SETTINGS_MODULE": "fleet.settings"}
    done = subprocess.run(command, cwd=settings.BASE_DIR, env=env, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
