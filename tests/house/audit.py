"""Hold every library of the lock against the known faults: python tests/house/audit.py

Ends with 1 when a library has a fault that is not in pyproject.toml's tool.audit.known with its reason. Where the
service that knows the faults does not answer, nothing was learned, which is said, and the end is 0: a fault in somebody
else's network is none of ours.
"""

import json
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
TOOLS = ROOT / ".venv" / "bin"
PATIENCE_S = 240


def known() -> dict[str, str]:
    """Return the faults that we live with, each with its reason."""
    told = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["audit"]["known"]
    return {str(number): str(reason) for number, reason in told.items()}


def ask() -> dict[str, Any] | None:
    """Return what pip-audit found, or nothing when its service did not answer."""
    with tempfile.TemporaryDirectory() as folder:
        listed = Path(folder) / "requirements.txt"
        export = [str(TOOLS / "uv"), "export", "--frozen", "--no-hashes", "--all-groups", "--no-emit-project", "-q"]
        listed.write_text(subprocess.run(export, cwd=ROOT, capture_output=True, text=True, check=True).stdout)
        command = [str(TOOLS / "pip-audit"), "--requirement", str(listed), "--no-deps", "--disable-pip"]
        try:
            answer = subprocess.run(
                [*command, "--format", "json", "--progress-spinner", "off"],
                cwd=ROOT, capture_output=True, text=True, timeout=PATIENCE_S,
            )  # fmt: skip
        except subprocess.TimeoutExpired:
            return None
    try:
        return json.loads(answer.stdout)
    except ValueError:
        sys.stderr.write(answer.stderr[-400:])
        return None


def judge(found: dict[str, Any] | None, lived_with: dict[str, str]) -> tuple[int, list[str]]:
    """Return the exit code and what there is to say."""
    libraries = [] if found is None else found["dependencies"]
    # A library that the service does not know is skipped; when it knows none, it did not answer.
    asked = [library for library in libraries if "skip_reason" not in library]
    if not asked:
        return 0, ["The service that knows the faults of libraries did not answer: nothing was learned."]
    told, bad = (
        [f"{len(asked)} libraries held against the known faults, {len(libraries) - len(asked)} not known there."],
        0,
    )
    for library in asked:
        for fault in library.get("vulns", []):
            numbers = {fault["id"], *fault.get("aliases", [])}
            reason = next((lived_with[number] for number in numbers if lived_with.get(number, "").strip()), "")
            bad += not reason
            fix = ", ".join(fault.get("fix_versions", [])) or "no version yet"
            verdict = f"lived with: {reason}" if reason else f"mended in {fix}"
            told.append(f"{library['name']} {library['version']}: {fault['id']}, {verdict}")
    return (1 if bad else 0), told


if __name__ == "__main__":
    code, lines = judge(ask(), known())
    print(*lines, sep="\n")
    sys.exit(code)
