"""The registers for programs: the same entries, the same sentences, the same scope as the pages."""

from uuid import uuid4

import pytest
from django.urls import reverse

from checks.models import Certificate, Instrument, SpecificationRevision
from checks.services.instrument import add_instrument
from checks.services.specification import add_specification
from tests.checks.registers.conftest import COMMON, DIAL, GAUGE
from tests.checks.registers.test_certificates import CERTIFICATE

pytestmark = pytest.mark.django_db


def quantities(entry):
    """The entry as a program sends it: quantities as objects, whole numbers as numbers."""
    whole = {"exercise_cycles", "adjustment_sign", "adjustment_range_half_turns"}
    return {
        name: {"text": value[0], "unit": value[1]}
        if isinstance(value, list)
        else int(value)
        if name in whole
        else value
        for name, value in entry.items()
    }


def send(client, address, body):
    return client.post(address, body, content_type="application/json", headers={"Idempotency-Key": str(uuid4())})


@pytest.fixture
def gauge(manager, depot):
    return add_instrument(author=manager, kind="gauge", entry={**GAUGE, "depot": str(depot.pk)})


def test_a_program_adds_and_reads_a_specification(signed_in, manager, viewer, pneumatic):
    body = {**quantities(COMMON), "turbocharger_model": pneumatic.pk}
    answer = send(signed_in(manager), reverse("api-specifications"), body)
    assert answer.status_code == 201
    read = signed_in(viewer).get(answer.headers["Location"]).json()
    assert read["setting"] == pytest.approx(31 * 6.894757293168361)  # NIST SP 811 appendix B.8
    assert read["typed"]["setting"] == ["31", "psi"]
    assert (read["model"], read["stimulus"]) == ("Tern 40", "pneumatic")


def test_a_wrong_specification_is_answered_with_each_field(signed_in, manager, pneumatic):
    body = {**quantities(COMMON), "turbocharger_model": pneumatic.pk, "setting": {"text": "NaN", "unit": "psi"}}
    answer = send(signed_in(manager), reverse("api-specifications"), body | {"revision": ""})
    assert (answer.status_code, answer.headers["Content-Type"]) == (400, "application/problem+json")
    assert {error["field"] for error in answer.json()["errors"]} == {"setting", "revision"}
    assert not SpecificationRevision.objects.exists()


@pytest.mark.parametrize("key", [None, 0, "x", 10**30, [1]])
def test_a_model_that_does_not_exist_is_refused(signed_in, manager, pneumatic, key):
    answer = send(signed_in(manager), reverse("api-specifications"), {**quantities(COMMON), "turbocharger_model": key})
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["field"] == "turbocharger_model"


def test_doubts_are_answered_until_confirmed(signed_in, manager, pneumatic):
    client, address = signed_in(manager), reverse("api-specifications")
    body = {
        **quantities(COMMON),
        "turbocharger_model": pneumatic.pk,
        "zero_tolerance_stimulus": {"text": "2", "unit": "psi"},
    }
    assert send(client, address, body).json()["code"] == "wide_zero"
    assert send(client, address, body | {"confirmed": True}).status_code == 201


@pytest.mark.parametrize("body", ["[]", '"x"', "7", "{"])
def test_what_is_no_object_is_refused(signed_in, manager, body):
    answer = signed_in(manager).post(reverse("api-specifications"), body, content_type="application/json")
    assert answer.status_code == 400


def test_a_program_adds_an_instrument_with_its_certificate(signed_in, manager, depot):
    client = signed_in(manager)
    added = send(client, reverse("api-instruments"), {**quantities(GAUGE), "kind": "gauge", "depot": depot.pk})
    assert added.status_code == 201
    assert added.json()["calibration"] == "no certificate"
    address = reverse("api-certificates", args=[added.json()["id"]])
    assert send(client, address, CERTIFICATE).status_code == 201
    assert len(client.get(address).json()["results"][0]["points"]) == 6
    assert client.get(added.headers["Location"]).json()["due_on"] == "2027-02-01"


def test_a_wrong_point_is_named_by_its_path(signed_in, manager, gauge):
    points = [{**CERTIFICATE["points"][0], "error": "lots"}]
    answer = send(signed_in(manager), reverse("api-certificates", args=[gauge.pk]), {**CERTIFICATE, "points": points})
    assert answer.json()["errors"][0]["field"] == "points.0.error"
    assert not Certificate.objects.exists()


def test_instruments_of_other_depots_are_not_there(signed_in, stranger, gauge):
    client = signed_in(stranger)
    assert client.get(reverse("api-instruments")).json()["results"] == []
    assert client.get(reverse("api-instrument", args=[gauge.pk])).status_code == 404
    address = reverse("api-certificates", args=[gauge.pk])
    assert client.get(address).status_code == 404
    assert send(client, address, CERTIFICATE).status_code == 404


@pytest.mark.parametrize("who", ["viewer", "technician"])
def test_only_managers_write(request, signed_in, who, depot, pneumatic, gauge):
    client = signed_in(request.getfixturevalue(who))
    bodies = {
        reverse("api-specifications"): {**quantities(COMMON), "turbocharger_model": pneumatic.pk},
        reverse("api-instruments"): {**DIAL, "kind": "dial", "depot": depot.pk},
        reverse("api-certificates", args=[gauge.pk]): CERTIFICATE,
    }
    assert {send(client, address, body).status_code for address, body in bodies.items()} == {403}
    assert Instrument.objects.count() == 1


@pytest.mark.parametrize("count", [1, 12])
def test_lists_cost_the_same_for_many(signed_in, manager, viewer, depot, count, django_assert_max_num_queries):
    for i in range(count):
        add_instrument(author=manager, kind="dial", entry={**DIAL, "label": f"D{i}", "depot": str(depot.pk)})
    client = signed_in(viewer)
    with django_assert_max_num_queries(6):
        client.get(reverse("api-instruments"))


def test_the_policy_is_read(signed_in, viewer, manager, pneumatic):
    add_specification(author=manager, turbocharger_model=pneumatic, entry=COMMON)
    assert signed_in(viewer).get(reverse("api-policy")).json()["inside_level"] == 0.95
