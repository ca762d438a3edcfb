"""The project's own settings with one more app, whose jobs copy numbers into a table."""

from fleet.settings import *

INSTALLED_APPS = [*INSTALLED_APPS, "tests.load.copying"]
