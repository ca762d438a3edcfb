"""A fleet that left as open files."""

from pathlib import Path

import pytest
from django.core.management import call_command

from fleet.models import Job
from tests.factories import TruckFactory, UserFactory


@pytest.fixture
def out(db, tmp_path: Path) -> Path:
    """The files of a small fleet."""
    user = UserFactory(username="sedge", email="sedge@yard.example")
    user.set_password("a password of nobody")
    user.save()
    TruckFactory(unit_number="-1 SUM(A1)")
    Job.objects.create(kind="refit", requested_by=user, arguments={"b": 1, "a": [None, "ü"]})
    call_command("export_fleet", tmp_path / "out", verbosity=0)
    return tmp_path / "out"
