"""The examples in the docstrings are true."""

import doctest
import importlib
import pkgutil

import pytest

import checks.measurement

MODULES = [m.name for m in pkgutil.walk_packages(checks.measurement.__path__, "checks.measurement.")]


@pytest.mark.parametrize("name", MODULES)
def test_examples(name):
    assert doctest.testmod(importlib.import_module(name)).failed == 0


def test_there_are_examples():
    found = sum(doctest.testmod(importlib.import_module(name)).attempted for name in MODULES)
    assert found >= 6


@pytest.mark.parametrize("name", MODULES)
def test_every_public_function_says_what_it_does(name):
    module = importlib.import_module(name)
    public = [
        value
        for label, value in vars(module).items()
        if callable(value) and not label.startswith("_") and getattr(value, "__module__", "") == name
    ]
    silent = [value.__name__ for value in public if not isinstance(value, type) and not value.__doc__]
    assert silent == []
