"""Turbochargers and their models."""

from datetime import date, timedelta

import pytest
from django.utils import timezone

from fleet.problems import FleetError
from fleet.services.turbocharger import add_model, add_turbocharger, edit_model, edit_turbocharger
from tests.factories import DepotFactory, FitmentFactory, TurbochargerFactory, TurbochargerModelFactory

pytestmark = pytest.mark.django_db
DAY = date(2023, 5, 1)


def refusal(call, **arguments) -> tuple[str, str]:
    with pytest.raises(FleetError) as caught:
        call(**arguments)
    return caught.value.code, caught.value.field


def test_a_reconditioned_turbocharger_enters_stock(crew):
    model = add_model(user=crew.manager, name="Tern 2", stimulus="pneumatic")
    row = add_turbocharger(
        user=crew.manager, depot=crew.depot, serial=" T1 ", model=model, received_on=DAY, origin="reconditioned"
    )
    assert (row.serial, row.origin, row.history.get().history_user) == ("T1", "reconditioned", crew.manager)


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"serial": ""}, ("blank", "serial")),
        ({"serial": "T0"}, ("unique", "serial")),
        ({"origin": "found"}, ("invalid_choice", "origin")),
        ({"received_on": timezone.localdate() + timedelta(days=3)}, ("in_the_future", "received_on")),
    ],
)
def test_a_wrong_turbocharger_is_refused_at_its_field(crew, changes, expected):
    model = TurbochargerFactory(serial="T0").model
    wanted = {"user": crew.manager, "depot": crew.depot, "serial": "T1", "model": model, "received_on": DAY} | changes
    assert refusal(add_turbocharger, **wanted) == expected


def test_a_fitted_turbocharger_is_neither_scrapped_nor_moved(crew):
    unit = FitmentFactory(turbocharger__depot=crew.depot).turbocharger
    other = DepotFactory()
    crew.manager.memberships.create(depot=other, role="manager")
    editing = {"user": crew.manager, "turbocharger": unit}
    assert refusal(edit_turbocharger, **editing, scrapped_on=DAY) == ("still_fitted", "scrapped_on")
    assert refusal(edit_turbocharger, **editing, depot=other) == ("follows_truck", "depot")


def test_days_agree_with_the_fitments(crew):
    fitment = FitmentFactory(turbocharger__depot=crew.depot, removed_on=DAY)
    editing = {"user": crew.manager, "turbocharger": fitment.turbocharger}
    assert refusal(edit_turbocharger, **editing, received_on=DAY) == ("received_after_fitted", "received_on")
    early = DAY - timedelta(days=1)
    assert refusal(edit_turbocharger, **editing, scrapped_on=early) == ("scrapped_before_removed", "scrapped_on")
    assert edit_turbocharger(**editing, scrapped_on=DAY, reason="housing cracked").scrapped_on == DAY
    assert fitment.turbocharger.history.first().history_change_reason == "housing cracked"


def test_scrapping_comes_after_receiving(crew):
    unit = TurbochargerFactory(depot=crew.depot, received_on=DAY)
    early = DAY - timedelta(days=1)
    assert refusal(edit_turbocharger, user=crew.manager, turbocharger=unit, scrapped_on=early) == (
        "scrapped_after_received",
        "scrapped_on",
    )


def test_a_models_actuator_stays_once_it_is_in_use(crew):
    model = TurbochargerModelFactory()
    assert edit_model(user=crew.manager, model=model, stimulus="electric").stimulus == "electric"
    TurbochargerFactory(model=model)
    assert refusal(edit_model, user=crew.manager, model=model, stimulus="pneumatic") == ("actuator_in_use", "stimulus")


def test_only_managers_keep_models(crew):
    assert refusal(add_model, user=crew.technician, name="Tern 2", stimulus="pneumatic") == ("not_allowed", "")
    assert refusal(add_model, user=crew.manager, name="", stimulus="pneumatic") == ("blank", "name")
    TurbochargerModelFactory(name="Tern 2")
    assert refusal(add_model, user=crew.manager, name="Tern 2", stimulus="pneumatic") == ("unique", "name")
