"""Keep the schema of a release, with a row of everything, for the test that brings it up to date.

    python tests/upgrade/keep_release.py 1.0.0

Writes tests/upgrade/released/<version>.sql.gz. Run it once, with the release, on a tree whose tests pass.
"""

import gzip
import os
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))


def main(version: str) -> None:
    """Make a world in a new database and write its dump."""
    target = Path(__file__).parent / "released" / f"{version}.sql.gz"
    if target.exists():
        raise SystemExit(f"{target.name} is there already: a release is kept once.")
    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {
            "LOCAL": "1", "VAR_DIR": folder, "DATABASE_URL": f"sqlite:///{folder}/release.sqlite3",
            "DJANGO_SETTINGS_MODULE": "tests.settings",
        }  # fmt: skip
        import django

        django.setup()
        from django.core.management import call_command
        from django.db import connection

        from tests.world import make_world

        call_command("migrate", verbosity=0)
        make_world()
        connection.ensure_connection()
        dump = "\n".join(connection.connection.iterdump()) + "\n"
    target.parent.mkdir(exist_ok=True)
    target.write_bytes(gzip.compress(dump.encode(), mtime=0))
    print(f"{target.relative_to(ROOT)}: {target.stat().st_size / 1000:.0f} kB")


if __name__ == "__main__":
    main(sys.argv[1])
