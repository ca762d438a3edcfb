"""Meter readings from files."""

from pathlib import Path

import pytest
from django.conf import settings

from fleet.imports.formats import format_named
from fleet.imports.staging import go_ahead, stage
from fleet.imports.trial import run_trial
from fleet.models import MeterReading
from tests.factories import TruckFactory

pytestmark = pytest.mark.django_db
FILE = Path(settings.BASE_DIR) / "fixtures" / "imports" / "meters.csv"


@pytest.fixture
def trucks(crew):
    return [TruckFactory(depot=crew.depot, unit_number=number) for number in ("501", "502")]


def verdicts(crew, lines):
    content = ("unit_number,read_at,odometer,engine_hours,replaced_meter\n" + lines).encode()
    return [
        line.code or line.verdict
        for line in run_trial(user=crew.manager, kind=format_named("meters"), content=content).verdicts
    ]


def test_readings_are_brought_in_once(crew, trucks):
    for _ in range(2):
        go_ahead(
            user=crew.manager, key=stage(user=crew.manager, kind="meters", name="m.csv", content=FILE.read_bytes()).key
        )
    assert list(trucks[0].meter_readings.values_list("odometer_km", "engine_hours")) == [(9800, 212.25), (1250.5, 40)]
    assert MeterReading.history.filter(source="file", history_user=crew.manager).count() == 3


def test_a_meter_that_runs_backwards_is_refused_within_the_file_too(crew, trucks):
    lines = "501,2024-01-01,500,,\n501,2024-01-02,400,,\n501,2024-01-03,30,,yes\n501,2024-01-04,45,,\n"
    assert verdicts(crew, lines) == ["new", "meter_runs_backwards", "new", "new"]


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ("999,2024-01-01,5,,", "unknown_truck"),
        ("501,2999-01-01,5,,", "in_the_future"),
        ("501,yesterday,5,,", "day_unknown"),
        ("501,2024-01-01,,,", "meter_reading_given"),
        ("501,2024-01-01,NaN,,", "not_a_number"),
        ("501,2024-01-01,5,,perhaps", "word_unknown"),
    ],
)
def test_each_wrong_reading_says_why(crew, trucks, line, code):
    assert verdicts(crew, line + "\n") == [code]
