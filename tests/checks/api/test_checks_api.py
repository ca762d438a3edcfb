"""Programs record and read checks, within the depots of whoever they act for."""

import uuid

import pytest

from checks.models import Check
from checks.services.check import record_check
from tests.bay import make_bay
from tests.factories import UserFactory

pytestmark = pytest.mark.django_db
CHECKS = "/api/v1/checks/"


def post(client, payload, **headers):
    return client.post(CHECKS, payload, content_type="application/json", headers=headers)


def test_a_check_is_recorded_and_answered_with_its_verdict(signed_in):
    bay = make_bay()
    answer = post(signed_in(bay.technician), bay.submission())
    assert answer.status_code == 201
    assert answer.json()["verdicts"][0]["state"] == "inside"
    assert len(answer.json()["readings"]) == 11
    assert signed_in(bay.viewer).get(answer["Location"]).json() == answer.json()


def test_the_key_may_come_in_the_header_and_a_repeat_is_the_same_check(signed_in):
    bay, key = make_bay(), str(uuid.uuid4())
    payload = bay.submission(key=None)
    client = signed_in(bay.technician)
    first = post(client, payload, **{"Idempotency-Key": key})
    again = post(client, payload, **{"Idempotency-Key": key})
    assert first.json()["pk"] == again.json()["pk"]
    assert first.json()["key"] == key
    assert post(client, bay.submission(), **{"Idempotency-Key": key}).json()["code"] == "two_keys"


def test_wrong_input_is_a_problem_that_names_each_field(signed_in):
    bay = make_bay()
    payload = bay.submission(reason="curiosity", odometer={"text": "NaN", "unit": "km"})
    answer = post(signed_in(bay.technician), payload)
    assert answer.status_code == 400
    assert answer["Content-Type"] == "application/problem+json"
    assert {error["field"] for error in answer.json()["errors"]} == {"reason", "odometer"}


@pytest.mark.parametrize("body", ["[]", "7", '"check"', "null", "{", "{}"])
def test_any_body_is_answered_without_a_crash(signed_in, body):
    bay = make_bay()
    answer = signed_in(bay.technician).post(CHECKS, body, content_type="application/json")
    assert answer.status_code == 400
    assert answer["Content-Type"] == "application/problem+json"


def test_a_conflict_is_409(signed_in):
    bay = make_bay()
    payload = bay.submission()
    client = signed_in(bay.technician)
    post(client, payload)
    assert post(client, bay.submission(travel="70", key=payload["key"])).status_code == 409
    assert Check.objects.count() == 1


def test_viewers_read_and_do_not_write_and_strangers_see_nothing(signed_in):
    bay, other = make_bay(), make_bay()
    check = record_check(user=bay.technician, submission=bay.submission())
    assert post(signed_in(bay.viewer), bay.submission()).status_code == 403
    assert post(signed_in(other.technician), bay.submission()).status_code == 404
    for address in (f"{CHECKS}{check.pk}/", f"{CHECKS}{check.pk}/assessments/"):
        assert signed_in(bay.viewer).get(address).status_code == 200
        assert signed_in(other.manager).get(address).status_code == 404
        assert signed_in(UserFactory()).get(address).status_code == 403
        assert signed_in(None).get(address).status_code == 401
    assert signed_in(other.viewer).get(CHECKS).json()["results"] == []
    assert signed_in(other.viewer).get("/api/v1/due/").json()["results"] == []


def test_the_list_filters_and_its_cost_does_not_grow(signed_in, django_assert_num_queries):
    bay = make_bay()
    for month in range(1, 4):
        day = f"2025-0{month}-04T09:30:00+00:00"
        record_check(
            user=bay.technician,
            submission=bay.submission(made_at=day, cautions_read_at=day, odometer=None, engine_hours=None),
        )
    client = signed_in(bay.viewer)
    with django_assert_num_queries(8):
        found = client.get(CHECKS, {"made_from": "2025-02-01T00:00:00Z", "depot": bay.depot.code}).json()["results"]
    assert [row["made_at"][:7] for row in found] == ["2025-03", "2025-02"]
    with django_assert_num_queries(8):
        assert len(client.get(CHECKS).json()["results"]) == 3


def test_the_whole_result_can_be_read(signed_in):
    bay = make_bay()
    check = record_check(user=bay.technician, submission=bay.submission())
    (row,) = signed_in(bay.viewer).get(f"{CHECKS}{check.pk}/assessments/").json()["results"]
    assert row["is_current"]
    assert row["moment"] == "as_found"
    assert {line["symbol"] for line in row["result"]["budget"]}
    assert row["result"]["advice"]["refusal_code"] == "inside"


def test_the_due_list_says_when_and_why(signed_in):
    bay = make_bay()
    record_check(user=bay.technician, submission=bay.submission())
    client = signed_in(bay.viewer)
    (row,) = client.get("/api/v1/due/", {"until": "2026-12-31"}).json()["results"]
    assert (row["serial"], row["due_on"], row["binding_rule"]) == (
        bay.turbocharger.serial,
        "2026-02-10",
        "usage_maximum",
    )
    assert {fired["rule"] for fired in row["rules"]} == {"usage_maximum", "calendar_maximum"}
    assert client.get("/api/v1/due/", {"until": "2025-12-31"}).json()["results"] == []


def test_the_description_of_the_interface_is_whole(signed_in):
    bay = make_bay()
    schema = signed_in(bay.viewer).get("/api/v1/schema/?format=json").json()
    assert {"/api/v1/checks/", "/api/v1/checks/{id}/", "/api/v1/due/"} <= set(schema["paths"])
