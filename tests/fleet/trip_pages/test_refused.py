"""Files and lines of trips that are refused, and what can be taken away of them."""

import re

import pytest

from fleet.models import Trip
from tests.fleet.trips.trip_lines import lines

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("content", "name", "says"),
    [
        (b"", "trips.csv", "The file is empty."),
        (b"\n\n", "trips.csv", "The file is empty."),
        (b"PK\x03\x04 no workbook", "trips.xlsx", "cannot be read"),
        (b"\xd0\xcf\x11\xe0 old", "trips.csv", "old workbook"),
        (b"a,b\0c\n1,2\n", "trips.csv", "no text file"),
        (b"x" * 30_000, "trips.csv", "too long for a heading"),
        (b"truck,start,distance,fuel\n", "trips.csv", "no lines under it"),
        (b"c," * 301 + b"c\n1\n", "trips.csv", "302 columns, 300 at most"),
        (b"PAR1 no table PAR1", "trips.parquet", "cannot be read"),
        (b"a,b\n1,2\n", "trips.pdf", "no table of trips by its name"),
    ],
)
def test_what_is_no_file_of_trips_is_refused_at_its_field(send, trucks, content, name, says):
    form = send(content, name).context["form"]
    assert any(says in sentence for sentence in form.errors["file"])
    assert form["source"].value() == "Yard export"


def test_a_file_that_is_too_large_or_without_a_source_is_refused(send, trucks, monkeypatch):
    assert send(lines(), source=" ").context["form"].errors["source"]
    monkeypatch.setattr("fleet.pages.trips_forms.MOST_BYTES", 10)
    assert "Split it" in send(lines()).context["form"].errors["file"][0]


def test_refused_lines_are_downloaded_and_no_cell_runs_as_a_formula(client, tried):
    run = tried('"=HYPERLINK(""x"")",2025-03-14 08:30,1,80,25', "201,2025-03-14 08:30,1,80,25")
    answer = client.get(run.replace("/run/", "/refused.csv"))
    assert answer["Content-Disposition"] == 'attachment; filename="refused-trips.csv"'
    text = b"".join(answer.streaming_content).decode("utf-8-sig").splitlines()
    assert text[0] == "line,reason,original"
    assert len(text) == 2
    assert text[1].startswith("2,You manage no truck with this number.,")
    assert not re.search(r',"?=', text[1])


def test_an_unknown_act_is_refused(client, tried):
    assert client.post(tried("201,2025-03-14 08:30,1,80,25"), {"act": "dance"}).status_code == 400


def test_nobody_else_sees_or_moves_a_file(crew, signed_in, tried):
    run = tried("201,2025-03-14 08:30,1,80,25")
    for who in (crew.stranger, crew.technician, crew.viewer):
        other = signed_in(who)
        for address in (
            run,
            run.replace("run/", ""),
            run.replace("run/", "progress/"),
            run.replace("run/", "refused.csv"),
        ):
            assert other.get(address).status_code in {403, 404}
        assert other.post(run, {"act": "bring"}).status_code in {403, 404}
    assert not Trip.objects.exists()
