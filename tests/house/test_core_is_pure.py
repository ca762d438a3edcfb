"""The core loads in a fresh interpreter without any framework."""

import subprocess
import sys

from django.conf import settings

PROBE = """
import importlib, pkgutil, sys
for name in ("checks.measurement", "checks.rules"):
    package = importlib.import_module(name)
    for module in pkgutil.walk_packages(package.__path__, name + "."):
        importlib.import_module(module.name)
heavy = {"django", "celery", "rest_framework", "plotly", "fleet", "reports", "pandas", "matplotlib"}
print(*sorted(heavy & set(sys.modules)))
"""


def test_the_core_loads_without_a_framework() -> None:
    answer = subprocess.run([sys.executable, "-c", PROBE], cwd=settings.BASE_DIR, capture_output=True, text=True)
    assert answer.returncode == 0, answer.stderr
    assert answer.stdout.strip() == ""


def test_the_package_above_the_core_stays_empty() -> None:
    assert (settings.BASE_DIR / "checks" / "__init__.py").read_text() == ""
