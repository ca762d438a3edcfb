"""What a sender calls a file leads nowhere: files are kept under keys of our own."""

import io
from pathlib import Path

import pytest
from django.conf import settings

from fleet.imports.staging import stage
from fleet.imports.trips.sending import begin_import

pytestmark = pytest.mark.django_db

NAMES = ["../../../../outside.csv", "/tmp/outside.csv", "..\\..\\outside.csv", "outside\x00.csv", "a" * 300 + ".csv"]
TRIPS = b"truck,start,duration_h,distance_km,fuel_l\n1,2025-03-14 08:30,1.5,90,31\n"


def kept() -> set[Path]:
    here = Path(settings.VAR_DIR)
    stray = {path for folder in (here, *list(here.parents)[:2]) for path in folder.glob("*outside*")}
    return stray | {path for path in here.rglob("*") if path.is_file() and "media" in path.parts}


@pytest.mark.parametrize("name", NAMES)
def test_a_file_of_trips_is_kept_under_its_key(crew, name: str) -> None:
    before = kept()
    sent = begin_import(user=crew.manager, source="Yard", name=name, upload=io.BytesIO(TRIPS))
    new = kept() - before
    assert new
    assert {path for path in new if f"/trips/{sent.key}/" not in str(path) or "outside" in path.name} == set()


@pytest.mark.parametrize("name", NAMES)
def test_a_file_of_the_register_is_kept_under_its_key(crew, name: str) -> None:
    before = kept()
    staged = stage(user=crew.manager, kind="trucks", name=name, content=b"unit_number,depot\n1,SALT\n")
    new = kept() - before
    assert new
    assert {path for path in new if f"/imports/{staged.key}/" not in str(path) or "outside" in path.name} == set()
