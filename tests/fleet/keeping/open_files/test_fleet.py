"""What a fleet owns leaves as open files and comes back as the same rows.

The description is held to the Data Package standard's rules (datapackage.org, version 2; from memory), and the files
are read by pandas, which knows nothing of us.
"""

import json
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from django.apps import apps
from django.conf import settings
from django.contrib.auth.models import Group, Permission
from django.core.management import CommandError, call_command

from checks.models import CheckPhoto
from fleet.management.openfiles.tables import SECRETS, tables, unit_of
from fleet.models import Note, Trip, User
from tests.factories import TruckFactory
from tests.world import make_world

MADE_BY_SOFTWARE = {
    "contenttypes.ContentType", "auth.Permission", "sessions.Session", "axes.AccessFailureLog", "axes.AccessAttempt",
    "axes.AccessAttemptExpiration", "axes.AccessLog", "otp_totp.TOTPDevice", "otp_static.StaticDevice",
    "otp_static.StaticToken",
}  # fmt: skip


def owned() -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table but passwords, as the framework reads it."""
    kept = {}
    for model in apps.get_models(include_auto_created=True):
        # The software numbers permissions anew; what they let do is asked below.
        if model._meta.label not in MADE_BY_SOFTWARE | SECRETS | {"auth.Group_permissions"}:
            names = [field.attname for field in model._meta.concrete_fields if field.name != "password"]
            rows = model._base_manager.order_by("pk").values_list(*names)
            kept[model._meta.label] = [
                tuple(bytes(value) if isinstance(value, memoryview) else value for value in row) for row in rows
            ]
    return kept


def clear() -> None:
    call_command("flush", interactive=False, verbosity=0)
    for name in ("photos", "media"):
        for path in (settings.VAR_DIR / name).rglob("*"):
            if path.is_file():
                path.unlink()


def describe(folder: Path) -> dict[str, Any]:
    return json.loads((folder / "datapackage.json").read_text())


@pytest.mark.django_db(transaction=True)
def test_a_fleet_comes_back_as_the_same_rows(tmp_path: Path) -> None:
    world = make_world()
    crew = Group.objects.create(name="Yard")
    crew.permissions.add(Permission.objects.get(codename="add_truck"))
    world.viewer.groups.add(crew)
    Note.objects.create(turbocharger=world.turbocharger, author=world.manager, text='=1+1, "told"\r\n\\N ü')
    Trip.objects.create(truck=world.truck, started_s=1, duration_s=1 / 3, distance_km=0.1, fuel_l=1e-9)
    rows, picture = owned(), Path(CheckPhoto.objects.get().image.path).read_bytes()
    assert sum(map(len, rows.values())) > 100
    call_command("export_fleet", tmp_path / "out", verbosity=0)
    clear()
    call_command("import_fleet", tmp_path / "out", verbosity=0)
    assert owned() == rows
    assert Path(CheckPhoto.objects.get().image.path).read_bytes() == picture
    assert User.objects.get(pk=world.viewer.pk).has_perm("fleet.add_truck")
    assert not any(user.has_usable_password() for user in User.objects.all())
    assert world.truck.history.model.objects.filter(id=world.truck.pk).count() == world.truck.history.count()
    assert TruckFactory().pk > world.truck.pk
    call_command("export_fleet", tmp_path / "again", verbosity=0)
    again = {row["path"]: row["hash"] for row in describe(tmp_path / "again")["resources"]}
    first = {row["path"]: row["hash"] for row in describe(tmp_path / "out")["resources"]}
    changed = {name for name in first if first[name] != again[name]}
    # What the new truck above added.
    assert changed == {"fleet_truck.csv", "fleet_historicaltruck.csv", "fleet_depot.csv", "fleet_historicaldepot.csv"}


@pytest.mark.django_db
def test_every_table_of_ours_leaves_unless_it_is_a_secret() -> None:
    every = {model._meta.label for model in apps.get_models(include_auto_created=True)}
    assert {table.model._meta.label for table in tables()} == every - MADE_BY_SOFTWARE - SECRETS


def test_no_secret_leaves(out: Path) -> None:
    text = "".join(path.read_text(errors="replace") for path in out.rglob("*") if path.is_file())
    assert User.objects.get(username="sedge").password not in text
    assert "fleet.User.password" in describe(out)["left_out"]
    assert not (out / "fleet_calendarfeed.csv").exists()


def test_another_reader_finds_what_the_description_promises(out: Path) -> None:
    for resource in describe(out)["resources"]:
        fields = resource["schema"]["fields"]
        read = pd.read_csv(out / resource["path"], dtype=str, keep_default_na=False)
        assert list(read.columns) == [field["name"] for field in fields]
        assert len(read) == resource["rows"]
        assert not read.duplicated(resource["schema"]["primaryKey"]).any()
        for field in fields:
            cells = read[field["name"]][read[field["name"]] != ""]
            if field["type"] in {"integer", "number"}:
                pd.to_numeric(cells)
            if field["type"] in {"date", "datetime"}:
                pd.to_datetime(cells, format="ISO8601")
            if field.get("constraints", {}).get("required"):
                assert len(cells) == len(read), field["name"]


def test_references_lead_to_files_of_the_package(out: Path) -> None:
    resources = {resource["name"]: resource for resource in describe(out)["resources"]}
    count = 0
    for resource in resources.values():
        for key in resource["schema"].get("foreignKeys", []):
            target = resources[key["reference"]["resource"]]["schema"]["fields"]
            assert set(key["reference"]["fields"]) <= {field["name"] for field in target}
            count += 1
    assert count > 80


def test_every_column_has_a_meaning_and_a_type_of_the_standard(out: Path) -> None:
    known = {"string", "number", "integer", "boolean", "date", "time", "datetime"}
    for resource in describe(out)["resources"]:
        assert resource["description"]
        for field in resource["schema"]["fields"]:
            assert field["type"] in known
            assert len(field["description"]) > 2


@pytest.mark.parametrize(
    ("label", "name", "unit"),
    [
        ("fleet.Trip", "distance_km", "km"), ("fleet.Trip", "fuel_l", "L"), ("fleet.Trip", "temperature_c", "°C"),
        ("checks.Assessment", "travel_mm", "mm"), ("fleet.Truck", "unit_number", ""),
        ("fleet.Depot", "checks_per_day", ""),
    ],
)  # fmt: skip
def test_a_measure_names_its_unit(label: str, name: str, unit: str) -> None:
    assert unit_of(apps.get_model(label)._meta.get_field(name)) == unit


def test_a_file_that_a_spreadsheet_saved_is_refused(out: Path, settings: Any) -> None:
    settings.VAR_DIR = out / "none"
    with (out / "fleet_truck.csv").open("a") as file:
        file.write("\n")
    with pytest.raises(CommandError, match="a spreadsheet program may have saved it"):
        call_command("import_fleet", out)


def test_files_never_mix_with_a_fleet(out: Path) -> None:
    with pytest.raises(CommandError, match="Bring a fleet into an empty one"):
        call_command("import_fleet", out)


def test_files_of_another_version_are_named(out: Path) -> None:
    package = describe(out)
    package["resources"] = [row for row in package["resources"] if row["path"] != "fleet_note.csv"]
    (out / "datapackage.json").write_text(json.dumps(package))
    with pytest.raises(CommandError, match=r"another version: fleet_note\.csv differ"):
        call_command("import_fleet", out)
