"""The pages on which a file is brought in."""

from pathlib import Path

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from fleet.imports import job
from fleet.models import Job, Truck, Turbocharger

pytestmark = pytest.mark.django_db
FILES = Path(settings.BASE_DIR) / "fixtures" / "imports"
HEADING = b"unit_number,depot,in_service_on\n"


def send(client, content, kind="trucks", name="trucks.csv"):
    return client.post(reverse("fleet:import"), {"kind": kind, "file": SimpleUploadedFile(name, content)})


def test_an_upload_leads_to_its_trial_run_and_the_word_to_go_ahead_writes_it(crew, signed_in):
    client = signed_in(crew.manager)
    answer = send(client, HEADING + b"1,SALT,2024-01-01\n2,NOWHERE,2024-01-01\n")
    report = client.get(answer.url)
    assert b"Of 2 lines, 1 would change the register. Nothing is written yet." in b" ".join(report.content.split())
    assert b"You manage no depot called &#x27;NOWHERE&#x27;." in report.content
    assert not Truck.objects.exists()
    assert client.post(answer.url).status_code == 302
    assert Truck.objects.get().unit_number == "1"
    assert client.post(answer.url).status_code == 302
    assert Truck.objects.count() == 1


def test_refused_lines_are_downloaded_with_reasons(crew, signed_in):
    client = signed_in(crew.manager)
    where = send(client, HEADING + b"2,NOWHERE,2024-01-01\n").url
    answer = client.get(where + "refused.csv")
    assert answer["Content-Disposition"] == 'attachment; filename="refused-lines.csv"'
    lines = answer.getvalue().decode("utf-8-sig").splitlines()
    assert lines == ["line,reason,original", "2,You manage no depot called 'NOWHERE'.,\"2,NOWHERE,2024-01-01\""]


@pytest.mark.parametrize("path", sorted(FILES.glob("*.csv")), ids=lambda path: path.name)
@pytest.mark.parametrize("kind", ["register", "trucks", "engines", "turbochargers", "fitments", "meters"])
def test_any_sample_file_under_any_kind_is_a_trial_run_or_a_sentence(crew, signed_in, kind, path):
    answer = send(signed_in(crew.manager), path.read_bytes(), kind, path.name)
    assert answer.status_code == 302 or answer.context["form"].errors["file"]


def test_no_file_an_unknown_kind_and_a_huge_file_are_refused_at_their_fields(crew, signed_in, monkeypatch):
    client = signed_in(crew.manager)
    assert client.post(reverse("fleet:import"), {"kind": "trucks"}).context["form"].errors["file"]
    assert send(client, HEADING, kind="wishes").context["form"].errors["kind"]
    monkeypatch.setattr("fleet.pages.imports.MOST_BYTES", 10)
    assert "Split it" in send(client, HEADING).context["form"].errors["file"][0]


def test_a_long_file_goes_ahead_as_a_job(crew, signed_in, monkeypatch, django_capture_on_commit_callbacks):
    monkeypatch.setattr("fleet.pages.imports.LINES_AT_ONCE", 1)
    client = signed_in(crew.manager)
    where = send(client, HEADING + b"1,SALT,2024-01-01\n2,SALT,2024-01-01\n").url
    with django_capture_on_commit_callbacks(execute=True):
        answer = client.post(where)
    done = Job.objects.get(kind=job.KIND)
    assert answer.url == reverse("jobs:job", args=[done.pk])
    assert (done.state, done.result["tally"]["new"]) == ("done", 2)
    assert Truck.objects.count() == 2


def test_somebody_elses_trial_run_cannot_be_seen_or_taken(crew, signed_in):
    where = send(signed_in(crew.manager), HEADING + b"1,SALT,2024-01-01\n").url
    other = signed_in(crew.stranger)
    assert other.get(where).status_code == 404
    assert other.post(where).status_code == 404
    assert not Truck.objects.exists()


def test_units_that_came_in_by_a_file_are_planned_before_the_next_beat(
    crew, signed_in, django_capture_on_commit_callbacks
):
    client = signed_in(crew.manager)
    heading = (
        b"unit_number,depot,in_service_on,engine_serial,engine_model,serial,model,actuator,received_on,fitted_on\n"
    )
    line = b"1,SALT,2024-01-01,E1,Lade 12,T1,Holm 4,pneumatic,2024-01-01,2024-01-01\n"
    where = send(client, heading + line, "register").url
    with django_capture_on_commit_callbacks(execute=True):
        client.post(where)
    unit = Turbocharger.objects.get(serial="T1")
    assert "Not looked at since it was fitted on 1 Jan 2024" in unit.standing.sentence
