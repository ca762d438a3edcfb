"""The whole demonstration, loaded once by its command for all tests of this folder, which run in one worker."""

import logging
from collections.abc import Iterator
from io import StringIO
from typing import Any

import pytest
from django.core.management import call_command
from django.db import transaction

from fleet.management.demo import load
from fleet.management.demo.events import History


@pytest.fixture(scope="package")
def first_run(history: History, django_db_setup: None, django_db_blocker: Any) -> Iterator[str]:
    """What the command says when it loads the two years; each test takes back what it wrote itself."""
    out, level = StringIO(), logging.getLogger("fleet").level
    with django_db_blocker.unblock(), transaction.atomic():
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(load, "simulate", lambda seed: history)
            call_command("demo", stdout=out)
        assert logging.getLogger("fleet").level == level
        yield out.getvalue()
        transaction.set_rollback(True)


@pytest.fixture(scope="package")
def loaded(history: History, first_run: str) -> History:
    return history
