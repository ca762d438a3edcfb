"""Which browser the tests drive: Debian's chromium; its build without a window needs half the processor."""

import os
import shutil

CHROMIUM = (
    os.environ.get("CHROMIUM")
    or shutil.which("chromium-headless-shell")
    or shutil.which("chromium")
    or "/usr/bin/chromium-headless-shell"
)
