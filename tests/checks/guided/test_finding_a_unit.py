"""Finding the unit to check, and who may begin."""

from datetime import date

import pytest
from django.test import Client

from checks.models import Draft, Standing
from tests.bay import Bay, make_bay, person
from tests.factories import SpecificationFactory, TurbochargerFactory
from tests.walk import Walk

pytestmark = pytest.mark.django_db


def find(user, text: str = ""):
    client = Client()
    client.force_login(user)
    return client.get("/checks/find/", {"q": text})


def test_a_unit_is_found_by_truck_or_serial(bay: Bay) -> None:
    for text in (bay.truck.unit_number, bay.truck.unit_number[1:].lower(), bay.turbocharger.serial[-4:]):
        units = find(bay.technician, text).context["units"]
        assert [row.serial for row in units] == [bay.turbocharger.serial]
        assert units[0].unit_number == bay.truck.unit_number


def test_the_exact_number_comes_first(bay: Bay) -> None:
    TurbochargerFactory(depot=bay.depot, serial=f"A{bay.turbocharger.serial}")
    assert find(bay.technician, bay.turbocharger.serial).context["units"][0].serial == bay.turbocharger.serial


def test_what_is_due_stands_first_without_looking(bay: Bay) -> None:
    later = TurbochargerFactory(depot=bay.depot)
    Standing.objects.update_or_create(turbocharger=later, defaults={"due_on": date(2026, 5, 1)})
    Standing.objects.update_or_create(turbocharger=bay.turbocharger, defaults={"due_on": date(2026, 1, 1)})
    assert [row.serial for row in find(bay.technician).context["units"]] == [bay.turbocharger.serial, later.serial]


def test_another_depots_unit_is_not_found(bay: Bay) -> None:
    other = make_bay()
    assert find(bay.technician, other.turbocharger.serial).context["units"] == []


def test_what_i_began_waits_for_me_and_not_for_others(walk: Walk, bay: Bay) -> None:
    walk.begin()
    assert [draft.key for draft in find(bay.technician).context["drafts"]] == [walk.key]
    assert find(person(bay.depot, "technician")).context["drafts"] == []


def test_the_list_costs_the_same_for_many_units(bay: Bay, django_assert_max_num_queries) -> None:
    for _ in range(20):
        unit = TurbochargerFactory(depot=bay.depot)
        Standing.objects.update_or_create(turbocharger=unit, defaults={"due_on": date(2026, 5, 1)})
    client = Client()
    client.force_login(bay.technician)
    with django_assert_max_num_queries(8):
        client.get("/checks/find/")


def test_a_viewer_may_not_begin(bay: Bay) -> None:
    assert find(bay.viewer).status_code == 403
    assert Walk(bay, bay.viewer).client.post(f"/checks/begin/{bay.turbocharger.pk}/").status_code == 403
    assert not Draft.objects.exists()


def test_another_depots_technician_meets_nothing(bay: Bay, walk: Walk) -> None:
    walk.begin()
    stranger = Walk(bay, make_bay().technician)
    stranger.key = walk.key
    assert stranger.client.post(f"/checks/begin/{bay.turbocharger.pk}/").status_code == 404
    assert stranger.look("reason").status_code == 404
    assert stranger.reason().status_code == 404
    stranger.client.post(f"/checks/drafts/{walk.key}/discard/")
    assert Draft.objects.filter(key=walk.key).exists()


def test_a_colleague_does_not_see_my_draft_but_the_manager_does(walk: Walk, bay: Bay) -> None:
    walk.begin()
    colleague, manager = Walk(bay, person(bay.depot, "technician")), Walk(bay, bay.manager)
    colleague.key = manager.key = walk.key
    assert colleague.look("reason").status_code == 404
    assert manager.look("reason").status_code == 200


def test_only_who_began_a_check_goes_on_with_it(walk: Walk, bay: Bay) -> None:
    walk.begin()
    manager = Walk(bay, bay.manager)
    manager.key = walk.key
    refused = manager.reason()
    assert refused.status_code == 403
    assert "alone can go on with it" in refused.content.decode()
    assert "reason" not in walk.draft.answers
    manager.client.post(f"/checks/drafts/{walk.key}/discard/")
    assert not Draft.objects.filter(key=walk.key).exists()


def test_nobody_begins_without_signing_in(bay: Bay) -> None:
    assert Client().get("/checks/find/").status_code == 302
    assert Client().post(f"/checks/begin/{bay.turbocharger.pk}/").status_code == 302


def test_without_a_specification_there_is_nothing_to_judge_by(bay: Bay) -> None:
    walk = Walk(bay)
    unknown = TurbochargerFactory(depot=bay.depot)
    answer = walk.client.post(f"/checks/begin/{unknown.pk}/")
    assert answer.status_code == 400
    assert "No specification" in answer.content.decode()


def test_the_revision_in_force_at_the_beginning_is_pinned(walk: Walk, bay: Bay) -> None:
    walk.begin()
    SpecificationFactory(turbocharger_model=bay.turbocharger.model, effective_from=date(2030, 1, 1))
    assert walk.draft.answers["specification"] == bay.specification.pk


def test_a_step_that_does_not_exist_is_not_found(walk: Walk) -> None:
    walk.begin()
    assert walk.look("polish").status_code == 404


def test_a_flagged_unit_says_so_before_and_throughout(walk: Walk, bay: Bay) -> None:
    type(bay.turbocharger).objects.filter(pk=bay.turbocharger.pk).update(safety_flag="The actuator saw 303.37 kPa.")
    type(bay.technician).objects.filter(pk=bay.technician.pk).update(pressure_unit="psi")
    assert "inspect it first" in find(bay.technician, bay.turbocharger.serial).content.decode()
    walk.begin()
    assert "The actuator saw 44.00 psi." in walk.look("reason").content.decode()
