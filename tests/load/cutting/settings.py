"""The project's own settings with a server that now and then fails on a check from a tablet, seeded."""

import os

from fleet.settings import *

os.environ.setdefault("CUT_SEED", "1")
MIDDLEWARE = ["tests.load.cutting.middleware.CuttingMiddleware", *MIDDLEWARE]
