"""The project's settings as the tests run them; each difference has its reason."""

import atexit
import os
import shutil
import tempfile
from pathlib import Path

_var = tempfile.mkdtemp(prefix="register-tests-")
atexit.register(shutil.rmtree, _var, ignore_errors=True)
os.environ |= {"DEBUG": "1", "LOCAL": "1", "VAR_DIR": _var, "SECRET_KEY": "only-for-tests-" * 4, "LOG_LEVEL": "ERROR"}
# Playwright runs an event loop in the thread in which the tests use the database.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"

from fleet.settings import *  # noqa: E402

# Tables come from the models, in a tenth of the time that migrations take; `makemigrations --check` holds the two
# equal, and tests/upgrade runs the migrations.
DATABASES["default"]["TEST"] = {"MIGRATE": False}
# A file, since the live server's threads would share one connection to a database in memory.
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    DATABASES["default"]["TEST"]["NAME"] = str(Path(_var) / "test.sqlite3")
# Strong hashing is slow on purpose, and what is tested is not the hash.
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
# Throttling counts across tests; its own tests switch it on.
AXES_ENABLED = False
API_RATE = API_RATE_STRANGERS = COSTLY_RATE = 1_000_000
# What is counted is counted within one process of tests.
CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}
# Each client of a test has middleware of its own, which would else read every static file once more.
WHITENOISE_AUTOREFRESH = True
# A job runs where it is enqueued, after commit; tests of real workers start their own processes.
CELERY_TASK_ALWAYS_EAGER = True
CELERY_TASK_EAGER_PROPAGATES = True
