"""The register for programs."""

import json
from uuid import uuid4

import pytest

from fleet.models import Engine, Fitment
from tests.factories import (
    EngineFactory,
    FitmentFactory,
    InstallationFactory,
    TruckFactory,
    TurbochargerFactory,
    TurbochargerModelFactory,
)

pytestmark = pytest.mark.django_db
BASE = "/api/v1"


@pytest.fixture
def send(signed_in):
    """Return a function that sends JSON as a person and gives status and answer."""

    def request(user, method, address, body=None):
        given = {} if method == "get" else {"data": json.dumps(body or {}), "content_type": "application/json"}
        headers = {"Idempotency-Key": str(uuid4())}
        answer = getattr(signed_in(user), method)(f"{BASE}{address}", headers=headers, **given)
        return answer.status_code, answer.json()

    return request


def test_a_program_builds_a_register_and_fits_a_turbocharger(crew, send):
    manager, depot = crew.manager, crew.depot.pk
    truck = {"depot": depot, "unit_number": "114", "in_service_on": "2022-01-01", "vin": "1M8GDM9AXKP042788"}
    status, truck = send(manager, "post", "/trucks/", truck)
    assert (status, truck["vin_word"]) == (201, "check digit agrees")
    _, engine = send(manager, "post", "/engines/", {"depot": depot, "serial": "E1", "model": "Skerry 11"})
    install = {"truck": truck["id"], "installed_on": "2022-01-01"}
    assert send(crew.technician, "post", f"/engines/{engine['id']}/install/", install)[0] == 201
    _, model = send(manager, "post", "/turbocharger-models/", {"name": "Tern 2", "stimulus": "pneumatic"})
    unit = {"depot": depot, "serial": "T1", "model": model["id"], "received_on": "2022-01-01"}
    _, unit = send(manager, "post", "/turbochargers/", unit)
    fit = {
        "engine": engine["id"], "position": "single", "fitted_on": "2022-02-01",
        "odometer": {"text": "1000", "unit": "mi"}, "engine_hours": {"text": "12,5", "unit": "h"},
    }  # fmt: skip
    status, fitment = send(crew.technician, "post", f"/turbochargers/{unit['id']}/fit/", fit)
    assert (status, fitment["fitted_odometer_km"], fitment["fitted_engine_hours"]) == (201, 1609.344, 12.5)
    assert send(crew.viewer, "get", "/meter-readings/")[1]["results"][0]["odometer_typed"] == "1000 mi"


def test_a_swap_and_a_removal_are_one_request_each(crew, send):
    old = FitmentFactory(turbocharger__depot=crew.depot)
    spare = TurbochargerFactory(depot=crew.depot)
    swap = {"on": spare.pk, "swapped_on": "2023-01-01", "reason": "worn"}
    status, fitment = send(crew.technician, "post", f"/turbochargers/{old.turbocharger_id}/swap/", swap)
    assert (status, fitment["turbocharger"]) == (201, spare.pk)
    status, closed = send(crew.technician, "post", f"/turbochargers/{spare.pk}/remove/", {"removed_on": "2023-02-01"})
    assert (status, closed["removed_on"]) == (200, "2023-02-01")


def test_meters_and_notes_are_taken(crew, send):
    truck, unit = TruckFactory(depot=crew.depot), TurbochargerFactory(depot=crew.depot)
    read = {"truck": truck.pk, "read_at": "2023-01-01T10:00:00Z", "odometer": {"text": "9", "unit": "km"}}
    assert send(crew.technician, "post", "/meter-readings/", read)[0] == 201
    assert send(crew.technician, "post", "/notes/", {"turbocharger": unit.pk, "text": "freed"})[0] == 201


def test_rows_are_corrected_by_patch(crew, send):
    truck, engine = TruckFactory(depot=crew.depot), EngineFactory(depot=crew.depot)
    unit, model = TurbochargerFactory(depot=crew.depot), TurbochargerModelFactory()
    assert send(crew.manager, "patch", f"/trucks/{truck.pk}/", {"description": "tanker"})[1]["description"] == "tanker"
    assert send(crew.manager, "patch", f"/engines/{engine.pk}/", {"layout": "twin"})[1]["layout"] == "twin"
    assert send(crew.manager, "patch", f"/turbochargers/{unit.pk}/", {"scrapped_on": "2024-01-01"})[0] == 200
    assert send(crew.manager, "patch", f"/turbocharger-models/{model.pk}/", {"note": "x"})[1]["note"] == "x"
    assert send(crew.manager, "patch", f"/depots/{crew.depot.pk}/", {"checks_per_day": 6})[1]["checks_per_day"] == 6


def test_each_refusal_names_field_code_and_sentence(crew, send):
    truck = {"depot": crew.depot.pk, "unit_number": "1", "in_service_on": "2022-01-01", "vin": "1M8GDM9A0KP042788"}
    status, problem = send(crew.manager, "post", "/trucks/", truck)
    assert status == 400
    assert problem["errors"][0]["field"] == "vin"
    assert "must be X" in problem["errors"][0]["sentence"]


@pytest.mark.parametrize(
    "body",
    [
        {},
        {"engine": "x"},
        {"engine": None, "position": 7, "fitted_on": "never"},
        {"odometer": "9"},
        {"odometer": {"text": "NaN"}},
    ],
)
def test_nonsense_is_a_problem_document_and_fits_nothing(crew, send, body):
    unit = TurbochargerFactory(depot=crew.depot)
    status, problem = send(crew.technician, "post", f"/turbochargers/{unit.pk}/fit/", body)
    assert (status, problem["code"]) == (400, "invalid")
    assert not Fitment.objects.exists()


def test_rows_of_other_depots_do_not_exist_for_a_program(crew, send):
    fitment = FitmentFactory(turbocharger__depot=crew.depot)
    engine = InstallationFactory(truck__depot=crew.depot).engine
    for address in (
        f"/turbochargers/{fitment.turbocharger_id}/",
        f"/engines/{engine.pk}/",
        f"/depots/{crew.depot.pk}/",
    ):
        assert send(crew.stranger, "get", address)[0] == 404
    for address in ("/trucks/", "/engines/", "/turbochargers/", "/fitments/", "/meter-readings/"):
        assert send(crew.stranger, "get", address)[1]["results"] == []
    unit = TurbochargerFactory(depot=crew.stranger.memberships.get().depot)
    body = {"engine": engine.pk, "position": "single", "fitted_on": "2023-01-01"}
    status, problem = send(crew.stranger, "post", f"/turbochargers/{unit.pk}/fit/", body)
    assert (status, problem["errors"][0]["field"]) == (400, "engine")


def test_roles_hold_for_programs_too(crew, send):
    engine = {"depot": crew.depot.pk, "serial": "E1", "model": "Skerry 11"}
    assert send(crew.viewer, "post", "/engines/", engine)[0] == 403
    assert send(crew.technician, "post", "/engines/", engine)[0] == 403
    assert send(None, "get", "/engines/")[0] in {401, 403}
    assert not Engine.objects.exists()
    truck = TruckFactory(depot=crew.depot)
    read = {"truck": truck.pk, "read_at": "2023-01-01T10:00:00Z", "odometer": {"text": "9", "unit": "km"}}
    assert send(crew.viewer, "post", "/meter-readings/", read)[0] == 403


@pytest.mark.parametrize("address", ["/trucks/", "/engines/", "/turbochargers/", "/fitments/"])
def test_a_list_costs_the_same_at_any_length(crew, signed_in, django_assert_max_num_queries, address):
    client = signed_in(crew.viewer)
    for _ in range(2):
        for _ in range(6):
            fitment = FitmentFactory(turbocharger__depot=crew.depot)
            InstallationFactory(truck__depot=crew.depot, engine=fitment.engine)
        with django_assert_max_num_queries(5):
            assert client.get(f"{BASE}{address}").status_code == 200
