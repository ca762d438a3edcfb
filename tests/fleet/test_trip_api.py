"""Trips for programs: batches in, files under way, trips on record page by page."""

import io
import json
import uuid
from datetime import UTC, datetime

import pytest

from fleet.imports.trips.sending import ask, begin_import
from fleet.models import Trip
from tests.factories import TruckFactory

pytestmark = pytest.mark.django_db
BASE = "/api/v1/trips/"
ROW = {"truck": "201", "start": "2025-03-14T08:30:00+01:00", "duration_s": 3600, "distance_km": 80, "fuel_l": 25}


@pytest.fixture
def truck(crew):
    return TruckFactory(depot=crew.depot, unit_number="201")


@pytest.fixture
def post(signed_in, crew):
    """Return a function that sends a batch and gives the answer."""

    def send(*rows, user=crew.manager, key="", source="Device feed"):
        body = json.dumps({"source": source, "rows": rows})
        headers = {"Idempotency-Key": str(key or uuid.uuid4())}
        return signed_in(user).post(f"{BASE}batches/", body, content_type="application/json", headers=headers)

    return send


@pytest.fixture
def get(signed_in, crew):
    return lambda address="", user=crew.viewer, **query: signed_in(user).get(f"{BASE}{address}", query)


def test_each_row_of_a_batch_has_its_outcome(post, truck):
    post(ROW)
    answer = post(ROW, ROW | {"start": "2025-03-15T08:30:00Z"}, ROW | {"truck": "999"}, ROW | {"fuel_l": 26})
    assert answer.status_code == 201
    body = answer.json()
    assert (body["lines"], body["accepted"], body["refused"], body["repeated"]) == (4, 3, 1, False)
    assert body["rows"][2] == {"row": 3, "outcome": "refused", "reason": "You manage no truck with this number."}
    assert Trip.objects.count() == 2


def test_the_same_key_repeats_the_answer_and_writes_nothing(post, truck):
    key = uuid.uuid4()
    first, again = post(ROW, key=key), post(ROW, key=key)
    assert (first.status_code, again.status_code) == (201, 200)
    assert again.json() == first.json() | {"repeated": True}
    other = post(ROW | {"fuel_l": 30}, key=key)
    assert (other.status_code, other.json()["code"]) == (409, "batch_key_used")
    assert Trip.objects.get().fuel_l == 25


def test_a_batch_that_cannot_be_read_is_a_problem_document(signed_in, crew, post, truck):
    client = signed_in(crew.manager)
    no_key = client.post(f"{BASE}batches/", {"source": "x", "rows": [ROW]}, content_type="application/json")
    assert (no_key.status_code, no_key.json()["code"]) == (400, "idempotency_key_missing")
    assert no_key["Content-Type"] == "application/problem+json"
    for rows, field in ((["no row"] * 5_001, "rows"), ([], "rows")):
        answer = post(*rows)
        assert (answer.status_code, answer.json()["errors"][0]["field"]) == (400, field)
    assert post(ROW, source="").json()["errors"][0]["field"] == "source"
    headers = {"Idempotency-Key": str(uuid.uuid4())}
    for body in ("[]", "{", '{"source": "x", "rows": 7}', '{"source": "x", "rows": [NaN]}'):
        answer = client.post(f"{BASE}batches/", body, content_type="application/json", headers=headers)
        assert answer.status_code == 400
    heavy = json.dumps({"source": "x" * (5 * 2**20), "rows": [ROW]})
    answer = client.post(f"{BASE}batches/", heavy, content_type="application/json", headers=headers)
    assert (answer.status_code, answer.json()["code"]) == (413, "batch_size")


def test_only_managers_write_and_only_to_trucks_of_their_depots(crew, post, truck):
    for who in (crew.viewer, crew.technician):
        assert post(ROW, user=who).status_code == 403
    body = post(ROW, user=crew.stranger).json()
    assert (body["accepted"], body["refused"]) == (0, 1)
    assert not Trip.objects.exists()


def test_a_batch_is_found_among_the_imports_of_its_sender_alone(crew, post, get, truck):
    key = uuid.uuid4()
    post(ROW, ROW | {"truck": "999"}, key=key)
    found = get(f"imports/{key}/", user=crew.manager).json()
    assert (found["state"], found["lines"], found["accepted"], found["new"]) == ("brought in", 2, 1, 1)
    assert found["reasons"][0]["sentence"] == "You manage no truck with this number."
    assert found["reasons"][0]["examples"] == [{"line": 2, "original": ""}]
    assert [row["key"] for row in get("imports/", user=crew.manager).json()["results"]] == [str(key)]
    assert get(f"imports/{key}/", user=crew.stranger).status_code == 404
    assert get("imports/", user=crew.stranger).json()["results"] == []


def test_a_file_tells_its_progress_and_its_refused_lines(crew, get, truck, django_capture_on_commit_callbacks):
    content = io.BytesIO(b"truck,start,duration_h,distance_km,fuel_l\n201,2025-03-14 08:30,1,80,25\n9,x,1,80,25\n")
    sent = begin_import(user=crew.manager, source="Yard", name="yard.csv", upload=content)
    assert get(f"imports/{sent.pk}/", user=crew.manager).json()["state"] == "not read yet"
    with django_capture_on_commit_callbacks(execute=True):
        ask(user=crew.manager, key=sent.pk, trial=True)
    found = get(f"imports/{sent.pk}/", user=crew.manager).json()
    assert (found["state"], found["trial"], found["percent"], found["refused"]) == ("tried", True, 100, 1)
    answer = get(f"imports/{sent.pk}/refused/", user=crew.manager)
    text = b"".join(answer.streaming_content).decode().splitlines()
    assert text[0] == "line,reason,original"
    assert text[1].endswith('"9,x,1,80,25"')
    assert get(f"imports/{sent.pk}/refused/", user=crew.stranger).status_code == 404


def test_trips_are_read_page_by_page_at_ones_depots_alone(crew, post, get, truck):
    rows = [ROW | {"start": f"2025-03-{day:02d}T08:30:00Z"} for day in range(1, 8)]
    post(*rows)
    page = get(page_size=3).json()
    seen = [row["start"] for row in page["results"]]
    while page["next"]:
        page = get(**dict(pair.split("=") for pair in page["next"].partition("?")[2].split("&"))).json()
        seen += [row["start"] for row in page["results"]]
    assert seen == [row["start"] for row in rows]
    assert get(user=crew.stranger).json() == {"next": None, "results": []}
    assert [row["unit_number"] for row in get(since="2025-03-07").json()["results"]] == ["201"]
    assert get(until="2025-02-28").json()["results"] == []


def test_questions_that_cannot_be_answered_are_problem_documents(get):
    for query in ({"page_size": 0}, {"since": "yesterday"}, {"after": "nonsense"}, {"depot": "x"}):
        answer = get(**query)
        assert (answer.status_code, answer["Content-Type"]) == (400, "application/problem+json")


def test_the_list_costs_six_queries_whatever_its_length(crew, post, get, truck, django_assert_num_queries, signed_in):
    client = signed_in(crew.viewer)
    post(*[ROW | {"start": datetime(2025, 3, day, tzinfo=UTC).isoformat()} for day in range(1, 20)])
    # Session, person, role, trips, their trucks, their depots.
    with django_assert_num_queries(6):
        assert len(client.get(BASE).json()["results"]) == 19
