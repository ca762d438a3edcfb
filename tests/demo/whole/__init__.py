"""A package, alone among the tests, so that what its fixtures share ends with it."""
