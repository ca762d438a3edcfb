"""Reviews for programs: asked for, followed by their job, read, and taken away by the people of their depots alone."""

import uuid

import pytest
from django.test import Client

from fleet.jobs.tasks import run_job
from reports.models import Review
from tests.bay import make_bay
from tests.reviews import kept_review

pytestmark = pytest.mark.django_db
LIST = "/api/v1/reviews/"


@pytest.fixture
def bay():
    return make_bay()


def ask(client: Client, key: object = None, **wanted: object):
    headers = {"Idempotency-Key": str(key or uuid.uuid4())}
    return client.post(LIST, {"month": "2025-03", **wanted}, content_type="application/json", headers=headers)


def test_a_run_is_accepted_followed_to_its_end_and_read(bay, signed_in):
    client = signed_in(bay.viewer)
    answer = ask(client, depot=bay.depot.pk)
    said = answer.json()
    assert (answer.status_code, said["state"], said["month"], said["depot"]) == (
        202,
        "queued",
        "2025-03",
        bay.depot.code,
    )
    job = answer.headers["Location"]
    assert said["job"] == job
    assert client.get(job).json()["state"] == "queued"
    run_job(Review.objects.get().job_id)
    done = client.get(job).json()
    assert (done["kind"], done["state"], done["done"], done["percent"]) == ("make-review", "done", done["total"], 100)
    run = client.get(f"{LIST}{said['id']}/").json()
    assert (run["state"], [file["kind"] for file in run["files"]]) == ("done", ["pdf", "xlsx", "zip"])
    assert "of 1 unit stood inside" in run["sentences"][0]
    for file in run["files"]:
        taken = client.get(file["address"])
        assert len(taken.content) == file["size"]
        assert taken["Content-Disposition"].endswith(f'.{file["kind"]}"')
    assert taken.content.startswith(b"PK")


def test_the_same_key_is_the_same_request(bay, signed_in):
    client, key = signed_in(bay.viewer), uuid.uuid4()
    first, second = (ask(client, key, depot=bay.depot.pk) for _ in range(2))
    assert (first.status_code, second.status_code) == (202, 202)
    assert first.json() == second.json()
    run_job(Review.objects.get().job_id)
    assert ask(client, key, depot=bay.depot.pk).status_code == 200
    other = ask(client, key, depot=bay.depot.pk, month="2025-02")
    assert (other.status_code, other.json()["code"]) == (409, "key_used")
    assert ask(signed_in(bay.manager), key, depot=bay.depot.pk).status_code == 409
    assert Review.objects.count() == 1


@pytest.mark.parametrize(
    ("wanted", "field"), [({"month": "2025-13"}, "month"), ({"month": "March"}, "month"), ({"depot": 0}, "depot")]
)
def test_what_cannot_be_asked_for_is_refused_with_its_field(bay, signed_in, wanted, field):
    answer = ask(signed_in(bay.viewer), **{"depot": bay.depot.pk, **wanted})
    assert answer.status_code == 400
    assert field in answer.content.decode()
    assert not Review.objects.exists()


def test_a_key_is_needed(bay, signed_in):
    answer = signed_in(bay.viewer).post(LIST, {"month": "2025-03"}, content_type="application/json")
    assert (answer.status_code, answer.json()["code"]) == (400, "idempotency_key_missing")


def test_another_depots_review_is_neither_listed_nor_asked_for(bay, signed_in):
    other = make_bay()
    own, foreign, fleet = (kept_review(depot, bay.manager) for depot in (bay.depot, other.depot, None))
    client = signed_in(bay.viewer)
    assert [row["id"] for row in client.get(LIST).json()["results"]] == [own.pk]
    for review in (foreign, fleet):
        assert client.get(f"{LIST}{review.pk}/").status_code == 404
        assert client.get(f"{LIST}{review.pk}/files/zip/").status_code == 404
    assert client.get(f"{LIST}{own.pk}/files/doc/").status_code == 404
    assert ask(client, depot=other.depot.pk).status_code == 400
    assert ask(client).status_code == 403  # of the whole fleet


def test_the_list_is_narrowed_and_read_page_by_page(bay, signed_in):
    for _ in range(3):
        kept_review(bay.depot, bay.manager)
    client = signed_in(bay.viewer)
    assert len(client.get(LIST, {"month": "2026-10", "depot": bay.depot.code}).json()["results"]) == 3
    assert client.get(LIST, {"month": "2026-09"}).json()["results"] == []
    assert client.get(LIST, {"month": "october"}).status_code == 400
    page = client.get(LIST, {"page_size": 2}).json()
    assert len(page["results"]) == 2
    assert len(client.get(page["next"]).json()["results"]) == 1


def test_a_job_is_told_to_whoever_asked_for_it(bay, signed_in):
    job = ask(signed_in(bay.viewer), depot=bay.depot.pk).headers["Location"]
    assert signed_in(bay.manager).get(job).status_code == 404
