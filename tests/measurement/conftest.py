"""Settings of the property tests."""

from hypothesis import settings

# The first call loads the units library, and cores are shared: a deadline would test the machine.
settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")
