"""Register files as people and their programs really write them, and the empty file to begin with."""

import csv
import io
from datetime import date

import pytest
from django.urls import reverse

from fleet.imports.formats import FORMATS, format_named
from fleet.imports.trial import run_trial
from fleet.problems import FleetError
from fleet.services.truck import add_truck
from tests.factories import TruckFactory
from tests.fleet.outcome import outcome

pytestmark = pytest.mark.django_db
LINE = {
    "unit_number": "301", "depot": "SALT", "in_service_on": "2024-01-15", "engine_serial": "SK-3001",
    "engine_model": "Skerry 11", "serial": "TN-3001", "model": "Tern 2", "actuator": "pneumatic",
    "received_on": "2024-01-02", "fitted_on": "2024-01-15", "odometer": "12,5",
}  # fmt: skip


def trial(crew, **changes):
    """The verdict on one line of the whole register."""
    cells = LINE | changes
    text = io.StringIO()
    csv.writer(text).writerows([cells.keys(), cells.values()])
    [verdict] = run_trial(user=crew.manager, kind=format_named("register"), content=text.getvalue().encode()).verdicts
    return verdict


@pytest.mark.parametrize(
    "midnight", ["2024-01-15 00:00:00", "2024-01-15T00:00:00.000", "15.01.2024 00:00", "2024-01-15 0:00:00"]
)
def test_a_day_that_a_program_wrote_as_its_midnight_is_that_day(crew, midnight):
    assert trial(crew, fitted_on=midnight).words.endswith("from 2024-01-15")


def test_a_day_with_a_time_is_no_day(crew):
    assert trial(crew, fitted_on="2024-01-15 07:30:00").code == "day_unknown"


@pytest.mark.parametrize("typed", ["h301", "H301 ", "h301\u00a0"])
def test_a_unit_number_that_differs_in_capitals_alone_is_refused(crew, typed):
    TruckFactory(depot=crew.depot, unit_number="H301")
    verdict = trial(crew, unit_number=typed)
    assert (verdict.code == "unit_number_like_another") is (typed.strip() == "h301")
    _, told = outcome(
        add_truck, user=crew.manager, unit_number=typed, depot=crew.depot, in_service_on=date(2024, 1, 15)
    )
    assert told.code == ("unit_number_like_another" if typed.strip() == "h301" else "unique")


def test_capitals_are_compared_between_the_lines_of_one_file_too(crew):
    rows = [LINE | {"unit_number": "h9"}, LINE | {"unit_number": "H9", "engine_serial": "SK-2", "serial": "TN-2"}]
    text = io.StringIO()
    csv.writer(text).writerows([LINE.keys(), *(row.values() for row in rows)])
    found = run_trial(user=crew.manager, kind=format_named("register"), content=text.getvalue().encode()).verdicts
    assert [verdict.code for verdict in found] == ["", "unit_number_like_another"]


@pytest.mark.parametrize("typed", ["181,200.5", "181.200,5", "1,181,200"])
def test_signs_between_thousands_are_refused_with_the_fix(crew, typed):
    assert "Leave out the signs between thousands" in trial(crew, odometer=typed).words


@pytest.mark.parametrize("kind", [kind.name for kind in FORMATS])
def test_the_empty_file_of_each_kind_names_its_columns_and_is_taken_back(crew, signed_in, kind):
    answer = signed_in(crew.manager).get(reverse("fleet:import_empty", args=[kind]))
    assert answer["Content-Disposition"] == f'attachment; filename="{kind}.csv"'
    content = answer.getvalue()
    assert content.decode("utf-8-sig").strip().split(",") == [c.name for c in format_named(kind).columns]
    with pytest.raises(FleetError, match="a heading but no lines"):
        run_trial(user=crew.manager, kind=format_named(kind), content=content)


def test_there_is_no_empty_file_of_an_unknown_kind(crew, signed_in):
    assert signed_in(crew.manager).get(reverse("fleet:import_empty", args=["wheels"])).status_code == 404
