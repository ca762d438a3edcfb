"""The recipes of DEVELOPERS.md, followed: for each the files that it adds, the lines that it inserts, and its command.

Each example is invented and works from end to end; its last file is the test that the recipe asks for. Long because it
holds five examples whole.
"""

import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Recipe:
    """``files``: path to content. ``lines``: path, the line below which it goes, the new line. ``title`` as printed."""

    title: str
    files: Mapping[str, str]
    lines: tuple[tuple[str, str, str], ...]
    command: tuple[str, ...] = ()

    @property
    def test(self) -> str:
        """The path of the recipe's own test."""
        return next(path for path in self.files if Path(path).name.startswith("test_"))

    def follow(self, root: Path) -> None:
        """Do what the recipe says, in a copy of the house."""
        for path, text in self.files.items():
            assert not (root / path).exists(), f"{path} is there already: choose another name for the example."
            (root / path).write_text(text)
        for path, below, line in self.lines:
            text = (root / path).read_text()
            assert text.count(f"{below}\n") == 1, f"{path} has not one line '{below.strip()}'."
            (root / path).write_text(text.replace(f"{below}\n", f"{below}\n{line}\n"))
        if self.command:
            done = subprocess.run(
                [sys.executable, *self.command], cwd=root, capture_output=True, text=True, check=False
            )
            assert done.returncode == 0, done.stderr


RULE = Recipe(
    "A re-check rule",
    {
        "checks/rules/recheck/standing_still.py": '''\
"""A truck that hardly runs: a rod that does not move may stick."""

from datetime import timedelta

from checks.rules.recheck.unit import Due, Limits, Unit, day

STILL_KM_PER_DAY = 20.0
DAYS = 90


def standing_still(unit: Unit, limits: Limits) -> Due | None:
    """Look again after a season at a unit whose truck hardly runs."""
    if unit.seen is None or unit.use.km_per_day > STILL_KM_PER_DAY:
        return None
    on = unit.seen.on + timedelta(days=DAYS)
    return Due(
        rule="standing_still",
        on=on,
        by_date=on,
        sentence=f"Its truck hardly runs since the check on {day(unit.seen.on)}: move the rod again after {DAYS} days.",
        inputs={"km_per_day": unit.use.km_per_day},
    )
''',
        "tests/checks/services/test_standing_still.py": '''\
"""A truck that hardly runs has its unit seen again after a season."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.urls import reverse

from checks.models import Standing
from checks.services.check import record_check
from fleet.models import MeterReading
from reports.words.recheck import why_in_short
from tests.bay import make_bay

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(("km_a_week", "rule"), [(70, "standing_still"), (7000, "usage_maximum")])
def test_it_fires_in_the_plan_and_stands_on_the_page(km_a_week, rule, signed_in):
    bay = make_bay()
    for week in range(1, 10):
        at = datetime(2025, 3, 4, 9, 30, tzinfo=UTC) - timedelta(weeks=week)
        MeterReading.objects.create(truck=bay.truck, read_at=at, odometer_km=212_000 - km_a_week * week)
    record_check(user=bay.technician, submission=bay.submission())
    row = Standing.objects.get(turbocharger=bay.turbocharger)
    assert row.binding_rule == rule
    page = signed_in(bay.viewer).get(reverse("reports:unit", args=[bay.turbocharger.pk])).content.decode()
    assert ("Its truck hardly runs since the check on 4 Mar 2025" in page) is (rule == "standing_still")
    if rule == "standing_still":
        assert row.due_on == date(2025, 6, 2)  # 90 days after 4 March, counted by hand
        assert why_in_short(row.binding_rule) == "truck hardly runs"
''',
    },
    (
        (
            "checks/rules/recheck/decide.py",
            "from checks.rules.recheck.risk import risk",
            "from checks.rules.recheck.standing_still import standing_still",
        ),
        ("checks/rules/recheck/decide.py", "    first_look,", "    standing_still,"),
        ("reports/words/recheck.py", '    "risk": "risk is reached",', '    "standing_still": "truck hardly runs",'),
    ),
)

VOID = Recipe(
    "A void condition",
    {
        "checks/measurement/voids/rise_unwatched.py": '''\
"""Nobody looked on the way up, so that nothing tells how the rod got there."""

from collections.abc import Iterator

from checks.measurement.evidence import Evidence
from checks.measurement.result import Void, void


def find(evidence: Evidence) -> Iterator[Void]:
    """Ask for a reading on the way to the setting."""
    final = evidence.final
    if final is not None and not final.rise:
        yield void(
            "rise_unwatched",
            "No reading was taken on the way up.",
            repeat="Vent to zero and make the rise again, with a reading on the way.",
        )
''',
        "tests/measurement/voids/test_rise_unwatched.py": '''\
"""A rise of which only the end was read."""

from checks.measurement.assess import assess
from checks.measurement.specification import State
from checks.measurement.stroke import Phase, Reading
from tests.measurement.making import SETTING, good_stroke, instruments, opening, specification, stroke


def test_a_rise_that_nobody_watched_is_void():
    jump = stroke(*opening(), Reading(phase=Phase.SETTING, stimulus=SETTING, travel_mm=1.5))
    result = assess(jump, specification(), instruments())
    assert result.state is State.VOID
    assert "rise_unwatched" in [void.code for void in result.voids]
    assert assess(good_stroke(), specification(), instruments()).voids == ()
''',
    },
    (
        ("checks/measurement/voids/__init__.py", "    pressure_fell,", "    rise_unwatched,"),
        ("checks/measurement/voids/__init__.py", "    pressure_fell.find,", "    rise_unwatched.find,"),
        (
            "DEVELOPERS.md",
            "- `not_reached`: the rise ended below the setting.",
            "- `rise_unwatched`: no reading was taken on the way up.",
        ),
    ),
)

TABLE = Recipe(
    "A table of the review",
    {
        "reports/review/reasons.py": '''\
"""Why checks were made."""

from collections import Counter

from reports.export.frozen import Column, Table, table
from reports.review.found import made_since
from reports.review.records import Records


def reason_table(records: Records) -> Table:
    """Checks of the month by their reason, the most frequent first."""
    counted = Counter(check.reason.replace("_", " ") for check in made_since(records, records.month.first))
    return table(
        "check_reasons",
        "Why checks were made",
        "Checks made in the month by the reason that the technician gave.",
        (
            Column("reason", "reason", "The reason given at the check."),
            Column("checks", "checks", "Checks made in the month for that reason.", "number"),
        ),
        counted.most_common(),
    )
''',
        "tests/reports/review/test_reasons.py": '''\
"""Why the checks of March were made, in each of the review's files."""

import io
from datetime import UTC, date, datetime

import openpyxl
import pytest
from pypdf import PdfReader

from reports.export.csv import csv_files
from reports.export.pdf import pdf_of
from reports.export.xlsx import workbook
from reports.review.month import Month
from reports.review.records import read_records
from reports.review.tables import run_of, tables_of

pytestmark = pytest.mark.django_db


def test_the_table_stands_in_every_file_with_the_same_digits(march):
    records = read_records(Month(date(2025, 3, 1)), None)
    run = run_of(records, list(tables_of(records)), number=1, made_at=datetime(2025, 4, 1, tzinfo=UTC))
    files = csv_files(run)
    assert files["check_reasons.csv"].decode() == "reason,checks\\r\\nscheduled,3\\r\\n"  # written by hand in `march`
    assert "check_reasons,checks,Checks made in the month for that reason.,," in files["dictionary.csv"].decode()
    book = openpyxl.load_workbook(io.BytesIO(workbook(run)))
    sheets = {sheet["A1"].value: sheet for sheet in book if sheet["A1"].value == "reason"}
    assert [cell.value for cell in sheets["reason"][2]] == ["scheduled", 3]
    paper = "".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf_of(run))).pages)
    assert "Why checks were made" in paper
''',
    },
    (
        ("reports/review/tables.py", "    quality,", "    reasons,"),
        ("reports/review/tables.py", "    found.void_table,", "    reasons.reason_table,"),
    ),
)

FORMAT = Recipe(
    "An import of files",
    {
        "fleet/imports/formats/retirements.py": '''\
"""One retired truck on each line."""

from fleet.imports.columns import Cells, Column
from fleet.imports.formats.format import Format
from fleet.imports.formats.trucks import UNIT_NUMBER
from fleet.imports.known import Known
from fleet.imports.steps import Wish
from fleet.models import User
from fleet.problems import FleetError
from fleet.services.dates import day_that_was

COLUMNS = (UNIT_NUMBER, Column("retired_on", ("retired",), required=True, holds="day"))


def plan(cells: Cells, known: Known, wish: Wish, user: User) -> None:
    """Plan the retirement of a truck whose engine was taken out."""
    number = cells.text("unit_number", needed_for="a retirement")
    truck = known.trucks.get(number)
    if truck is None:
        raise FleetError("unknown_truck", "unit_number", f"The register has no truck '{number[:40]}'.")
    known.require_managed(truck, "unit_number")
    day = cells.needed_day("retired_on", "a retirement")
    day_that_was(day, "retired_on")
    if day < truck.in_service_on:
        raise FleetError("before_service", "retired_on", f"Truck {truck} came into service on {truck.in_service_on}.")
    if any(seat.removed_on is None for seat in known.carries[number]):
        raise FleetError("truck_has_engine", "unit_number", f"Record the removal of the engine of truck {truck} first.")
    wish.change(truck, {"retired_on": day})


FORMAT = Format("retirements", "Retired trucks, one on each line", COLUMNS, plan)
''',
        "fixtures/imports/retirements.csv": "Truck number;Retired\n601;2024-05-31\n602;30.06.2024\n",
        "fixtures/imports/retirements_broken.csv": (
            "unit_number,retired_on\n601,soon\n601,1999-01-01\n999,2024-01-01\n601,2999-01-01\n"
        ),
        "tests/fleet/test_import_retirements.py": '''\
"""Retired trucks from files."""

from datetime import date
from pathlib import Path

import pytest
from django.conf import settings
from django.urls import reverse

from fleet.imports.formats import format_named
from fleet.imports.staging import go_ahead, stage
from fleet.imports.trial import run_trial
from fleet.models import Truck
from tests.factories import TruckFactory

pytestmark = pytest.mark.django_db
FILES = Path(settings.BASE_DIR) / "fixtures" / "imports"


@pytest.fixture(autouse=True)
def trucks(crew):
    for number in ("601", "602"):
        TruckFactory(depot=crew.depot, unit_number=number, in_service_on=date(2020, 1, 1))


def test_trucks_retire_once_and_again_changes_nothing(crew, signed_in):
    content = (FILES / "retirements.csv").read_bytes()
    waiting = stage(user=crew.manager, kind="retirements", name="r.csv", content=content)
    assert go_ahead(user=crew.manager, key=waiting.key).tally["change"] == 2
    days = dict(Truck.objects.values_list("unit_number", "retired_on"))
    assert days == {"601": date(2024, 5, 31), "602": date(2024, 6, 30)}
    assert stage(user=crew.manager, kind="retirements", name="r.csv", content=content).tally["same"] == 2
    page = signed_in(crew.manager).get(reverse("fleet:import")).content.decode()
    assert "Retired trucks, one on each line" in page


def test_each_wrong_line_says_why(crew):
    content = (FILES / "retirements_broken.csv").read_bytes()
    trial = run_trial(user=crew.manager, kind=format_named("retirements"), content=content)
    codes = [line.code for line in trial.verdicts]
    assert codes == ["day_unknown", "before_service", "unknown_truck", "in_the_future"]
''',
    },
    (
        (
            "fleet/imports/formats/__init__.py",
            "from fleet.imports.formats import complaints, engines, fitments, meters, register, trucks, turbochargers",
            "from fleet.imports.formats import retirements",
        ),
        ("fleet/imports/formats/__init__.py", "    complaints.FORMAT,", "    retirements.FORMAT,"),
    ),
)

KIND = Recipe(
    "A kind of instrument",
    {
        "tests/checks/registers/test_digital_gauge.py": '''\
"""A digital gauge, from its form through its certificate to a verdict."""

import pytest
from django.urls import reverse

from checks.models import Assessment
from checks.services.certificate import add_certificate
from checks.services.check import record_check
from checks.services.instrument import add_instrument
from checks.tablet.sheet import sheet_of
from tests.bay import make_bay
from tests.checks.registers.conftest import GAUGE

pytestmark = pytest.mark.django_db


@pytest.fixture
def bay():
    return make_bay()


@pytest.fixture
def digital(bay):
    """One that reads 0.1 psi high at 31 psi, as its certificate says."""
    row = add_instrument(author=bay.manager, kind="digital", entry={**GAUGE, "depot": str(bay.depot.pk)})
    points = [
        {"moment": "as_found", "indication": at, "error": error, "expanded_uncertainty": "0.1", "coverage_factor": "2"}
        for at, error in (("0", "0"), ("30", "0.1"), ("31", "0.1"), ("60", "0.1"))
    ]
    entry = {"number": "D-1", "issued_on": "2025-01-02", "due_on": "2026-01-02", "unit": "psi", "given": "error"}
    entry |= {"laboratory": "", "note": "", "points": points, "not_adjusted": True, "confirmed": True}
    add_certificate(author=bay.manager, instrument=row, entry=entry)
    return row


def test_its_reading_is_corrected_by_its_certificate_and_judged(bay, digital):
    tools = {"dial": bay.dial.pk, "stimulus": digital.pk, "meter": None, "regulator": None}
    check = record_check(user=bay.technician, submission=bay.submission(instruments=tools))
    corrected = Assessment.objects.get(stroke__check_made=check)
    plain = record_check(user=bay.technician, submission=bay.submission(made_at="2025-03-04T10:30:00+00:00"))
    # It stood at 30.9 psi when it showed 31, and 0.1 psi below the setting the rod has travelled less.
    assert corrected.travel_mm > Assessment.objects.get(stroke__check_made=plain).travel_mm
    assert corrected.state != "void"
    assert digital.certificates.get().pk in corrected.certificates


def test_pages_and_tablets_offer_it(bay, digital, signed_in):
    asked = signed_in(bay.manager).get(reverse("checks:instrument_add_kind", args=["digital"])).content.decode()
    assert "Scale division" in asked
    page = signed_in(bay.viewer).get(reverse("checks:instrument", args=[digital.pk])).content.decode()
    assert "digital gauge" in page
    assert "digital" in sheet_of(bay.technician)["kinds"]["stimulus"]
''',
    },
    (
        (
            "checks/models/instrument.py",
            '        GAUGE = "gauge", "mechanical gauge"',
            '        DIGITAL = "digital", "digital gauge"',
        ),
        ("checks/measurement/calibration.py", '    GAUGE = "gauge"', '    DIGITAL = "digital"'),
        ("checks/services/scales.py", '    "gauge": read_gauge,', '    "digital": read_gauge,'),
        ("checks/services/scales.py", '    "gauge": PRESSURE,', '    "digital": PRESSURE,'),
        ("checks/models/instrument_parts.py", "    Kind.GAUGE,", "    Kind.DIGITAL,"),
        ("checks/pages/instrument_scales.py", '    "gauge": _gauge,', '    "digital": _gauge,'),
    ),
    ("manage.py", "makemigrations", "checks", "--name", "a_digital_gauge"),
)

RECIPES = (RULE, VOID, TABLE, FORMAT, KIND)
