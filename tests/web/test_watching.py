"""What the log and the metrics say of a request and a job, and what they never say."""

import json
import logging

import pytest
from django.db import connection
from django.http import HttpRequest, HttpResponse
from django.test import Client
from django.urls import path
from prometheus_client.parser import text_string_to_metric_families

from fleet import urls as project
from fleet.jobs import registry
from fleet.jobs.requests import enqueue
from fleet.log import JsonLines, Plain, WithIds, of_job, request_id, sane_or_new, without_rows
from fleet.models import Job
from tests.factories import JobFactory, UserFactory

pytestmark = pytest.mark.django_db
TOKEN = "a-token-of-twenty-signs-or-more"


def slow(request: HttpRequest) -> HttpResponse:
    with connection.cursor() as cursor:
        cursor.execute("SELECT %s", ["a name that was typed"])
    return HttpResponse()


def stumble(request: HttpRequest, secret: str) -> HttpResponse:
    raise ZeroDivisionError


urlpatterns = [*project.urlpatterns, path("slow", slow), path("letters/<str:secret>", stumble)]
handler500 = project.handler500


@pytest.fixture(autouse=True)
def somebody():
    """Whoever signs in to a register without people is led to make the first one."""
    return UserFactory()


@pytest.fixture
def lines(caplog: pytest.LogCaptureFixture):
    """A function that returns what was logged so far, as a deployment writes it."""
    caplog.set_level(logging.INFO)
    caplog.handler.addFilter(WithIds())

    def written() -> list[dict[str, object]]:
        return [json.loads(JsonLines().format(record)) for record in caplog.records]

    return written


def test_a_request_keeps_the_sane_id_that_a_proxy_gave_it(client: Client, lines) -> None:
    answer = client.get("/accounts/login/", headers={"X-Request-ID": "edge-0123456789"})
    assert answer["X-Request-ID"] == "edge-0123456789"
    told = [line for line in lines() if line["logger"] == "fleet.requests"]
    assert told[-1]["request_id"] == "edge-0123456789"
    assert (told[-1]["method"], told[-1]["route"], told[-1]["status"]) == ("GET", "/accounts/login/", 200)


@pytest.mark.parametrize("offered", ["", "short", "x" * 65, "two words 12345", "break\nthe line", "{json}12345"])
def test_an_id_that_is_none_is_replaced(offered: str) -> None:
    made = sane_or_new(offered)
    assert made != offered
    assert sane_or_new(made) == made


def test_ids_end_with_their_request(client: Client) -> None:
    first, second = (client.get("/accounts/login/")["X-Request-ID"] for _ in range(2))
    assert first != second
    assert request_id.get() == ""


def test_what_is_typed_never_reaches_the_log(client: Client, lines) -> None:
    client.get("/calendar/the-secret-of-a-calendar.ics")
    client.get("/nowhere/with-a-name/?q=somebody")
    client.post("/accounts/login/", {"username": "somebody", "password": "the-password-itself"})
    text = json.dumps(lines())
    for typed in ("the-secret", "somebody", "with-a-name", "the-password-itself"):
        assert typed not in text
    assert '"route": "unknown"' in text


@pytest.mark.urls(__name__)
def test_a_failure_keeps_its_traceback_and_loses_its_address(lines) -> None:
    answer = Client(raise_request_exception=False).get("/letters/a-secret-in-the-address")
    assert answer.status_code == 500
    assert answer["X-Request-ID"] in answer.content.decode(), "The page says under which number the log has it."
    failed = next(line for line in lines() if line["logger"] == "django.request")
    assert "ZeroDivisionError" in str(failed["traceback"])
    assert failed["request_id"] == answer["X-Request-ID"]
    assert "a-secret" not in json.dumps(lines())


def test_a_row_that_the_database_quotes_is_left_out() -> None:
    quoted = "duplicate key value\nDETAIL:  Key (username)=(somebody) already exists.\nand more"
    assert "somebody" not in without_rows(quoted)
    assert "and more" in without_rows(quoted)


def test_a_line_of_ones_own_machine_is_plain_and_names_what_it_belongs_to() -> None:
    record = logging.LogRecord("fleet.x", logging.INFO, __file__, 1, "begins %s", ("now",), None)
    with of_job(7):
        WithIds().filter(record)
    assert Plain().format(record).endswith("INFO fleet.x: begins now [job 7]")


def test_every_line_of_a_job_names_it(lines, monkeypatch, django_capture_on_commit_callbacks) -> None:
    monkeypatch.setattr(registry, "_kinds", {})
    registry.register("count", lambda run: logging.getLogger("fleet.count").info("counting"), label="count")
    with django_capture_on_commit_callbacks(execute=True):
        job = enqueue(kind="count", arguments={})
    of_it = [line for line in lines() if line.get("job_id") == job.pk]
    assert [line["logger"] for line in of_it] == ["fleet.jobs.tasks", "fleet.count", "fleet.jobs.tasks"]
    assert "is done in" in str(of_it[-1]["message"])


@pytest.mark.urls(__name__)
def test_a_slow_query_is_told_without_its_values(client: Client, settings, caplog) -> None:
    settings.DEBUG = True
    settings.SLOW_QUERY_MS = 0
    caplog.set_level(logging.WARNING)
    client.get("/slow")
    told = [record.getMessage() for record in caplog.records if record.name == "fleet.slow_queries"]
    assert any("SELECT %s" in line for line in told)
    assert "a name" not in "".join(told)


def test_without_a_token_in_the_settings_there_are_no_metrics(client: Client, settings) -> None:
    settings.METRICS_TOKEN = ""
    assert client.get("/metrics", headers={"Authorization": "Bearer "}).status_code == 404


@pytest.mark.parametrize("sent", ["", "Bearer", "Bearer another-token-of-twenty-signs", f"Bearer {TOKEN}x"])
def test_metrics_are_for_whoever_holds_the_token(client: Client, settings, sent: str) -> None:
    settings.METRICS_TOKEN = TOKEN
    answer = client.get("/metrics", headers={"Authorization": sent})
    assert (answer.status_code, answer.content) == (401, b"")


def test_metrics_count_requests_and_tell_the_ledger(client: Client, settings) -> None:
    """Read by Prometheus' own parser of its text format."""
    settings.METRICS_TOKEN = TOKEN
    JobFactory(kind="sweep"), JobFactory(kind="sweep", state="failed", error="no", finished_at="2026-01-01T00:00Z")
    Job.objects.filter(state="failed").update(finished_at=Job.objects.first().created_at)
    before = requests_of(client)
    client.get("/accounts/login/?next=/somewhere")
    client.get("/accounts/login/")
    assert requests_of(client) - before == 2
    found = numbers(client)
    assert found["register_jobs_waiting", "sweep"] == 1
    assert found["register_jobs_failed", "sweep"] == 1
    assert found["register_database_up", ""] == found["register_broker_up", ""] == 1
    assert found["register_jobs_oldest_wait_seconds", ""] >= 0
    assert found["register_disk_free_bytes", ""] > 0


def numbers(client: Client) -> dict[tuple[str, str], float]:
    text = client.get("/metrics", headers={"Authorization": f"Bearer {TOKEN}"}).content.decode()
    families = text_string_to_metric_families(text)
    return {
        (sample.name, sample.labels.get("kind", sample.labels.get("route", ""))): sample.value
        for family in families
        for sample in family.samples
        if sample.labels.get("status", "200") == "200" and sample.labels.get("method", "GET") == "GET"
        if "le" not in sample.labels
    }


def requests_of(client: Client) -> float:
    return numbers(client).get(("register_requests_total", "/accounts/login/"), 0.0)
