"""The core stands alone."""

import subprocess
import sys
from pathlib import Path

HOUSE = Path(__file__).resolve().parents[2]
FOREIGN = ("django", "celery", "rest_framework", "plotly", "fleet", "reports", "pint", "pandas")


def test_a_fresh_interpreter_judges_without_the_web_and_without_the_units_library():
    code = (
        "import sys; import checks.measurement.assess, checks.measurement.units; "
        f"print([name for name in {FOREIGN!r} if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=HOUSE, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
