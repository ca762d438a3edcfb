"""Trucks, engines, installations, and the depot that follows the truck."""

from datetime import date, timedelta

import pytest
from django.utils import timezone

from fleet.models import Engine, Installation
from fleet.problems import FleetError
from fleet.services.engine import add_engine, edit_engine, install_engine, uninstall_engine
from fleet.services.truck import add_truck, edit_truck
from tests.factories import DepotFactory, EngineFactory, FitmentFactory, InstallationFactory, TruckFactory

pytestmark = pytest.mark.django_db
DAY = date(2022, 6, 1)


def refusal(call, **arguments) -> tuple[str, str]:
    with pytest.raises(FleetError) as caught:
        call(**arguments)
    return caught.value.code, caught.value.field


def test_a_truck_is_added_with_its_author_on_record(crew):
    truck = add_truck(
        user=crew.manager, depot=crew.depot, unit_number=" 114 ", vin="1m8gdm9axkp042788", in_service_on=DAY
    )
    assert (truck.unit_number, truck.vin) == ("114", "1M8GDM9AXKP042788")
    assert truck.history.get().history_user == crew.manager


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"unit_number": ""}, ("blank", "unit_number")),
        ({"unit_number": "113"}, ("unique", "unit_number")),
        ({"vin": "11111111111111111"}, ("vin_once", "vin")),
        ({"vin": "1M8GDM9A0KP042788"}, ("vin_check_digit", "vin")),
        ({"in_service_on": timezone.localdate() + timedelta(days=3)}, ("in_the_future", "in_service_on")),
    ],
)
def test_a_wrong_truck_is_refused_at_its_field(crew, changes, expected):
    TruckFactory(depot=crew.depot, unit_number="113", vin="11111111111111111")
    wanted = {"user": crew.manager, "depot": crew.depot, "unit_number": "114", "in_service_on": DAY} | changes
    assert refusal(add_truck, **wanted) == expected


@pytest.mark.parametrize("who", ["technician", "viewer", "stranger"])
def test_only_the_depots_manager_adds_trucks(crew, who):
    wanted = {"depot": crew.depot, "unit_number": "114", "in_service_on": DAY}
    assert refusal(add_truck, user=getattr(crew, who), **wanted) == ("not_allowed", "")


def test_moving_a_truck_moves_its_engine_and_turbochargers(crew):
    fitment = FitmentFactory(turbocharger__depot=crew.depot)
    installation = InstallationFactory(truck__depot=crew.depot, engine=fitment.engine)
    other = DepotFactory()
    crew.manager.memberships.create(depot=other, role="manager")
    edit_truck(user=crew.manager, truck=installation.truck, depot=other)
    for row in (fitment.engine, fitment.turbocharger):
        row.refresh_from_db()
        assert row.depot == other
    assert fitment.turbocharger.history.first().history_change_reason == f"Follows truck {installation.truck}"


def test_a_truck_moves_only_to_a_depot_that_one_manages(crew):
    truck = TruckFactory(depot=crew.depot)
    assert refusal(edit_truck, user=crew.manager, truck=truck, depot=DepotFactory()) == ("not_allowed", "")
    truck.refresh_from_db()
    assert truck.depot == crew.depot


def test_a_truck_retires_only_without_engine(crew):
    installation = InstallationFactory(truck__depot=crew.depot)
    truck = installation.truck
    assert refusal(edit_truck, user=crew.manager, truck=truck, retired_on=DAY) == ("engine_still_in", "retired_on")
    uninstall_engine(user=crew.manager, engine=installation.engine, removed_on=DAY)
    assert edit_truck(user=crew.manager, truck=truck, retired_on=DAY).retired_on == DAY
    assert refusal(edit_truck, user=crew.manager, truck=truck, retired_on=date(2019, 1, 1)) == (
        "truck_retired_after_service",
        "retired_on",
    )


def test_an_engine_is_installed_and_follows_the_truck(crew):
    engine, truck = EngineFactory(depot=crew.depot), TruckFactory(depot=crew.depot)
    installation = install_engine(user=crew.technician, engine=engine, truck=truck, installed_on=DAY)
    assert (installation.truck, installation.removed_on) == (truck, None)


def test_an_engine_sits_in_one_truck_and_a_truck_has_one_engine(crew):
    held = InstallationFactory(truck__depot=crew.depot)
    arguments = {"user": crew.technician, "installed_on": DAY}
    again = refusal(install_engine, engine=held.engine, truck=TruckFactory(depot=crew.depot), **arguments)
    assert again == ("engine_in_one_truck", "engine")
    second = refusal(install_engine, engine=EngineFactory(depot=crew.depot), truck=held.truck, **arguments)
    assert second == ("truck_has_one_engine", "truck")


def test_installations_of_one_engine_do_not_overlap(crew):
    held = InstallationFactory(truck__depot=crew.depot, removed_on=DAY)
    truck = TruckFactory(depot=crew.depot)
    arguments = {"user": crew.technician, "engine": held.engine, "truck": truck}
    assert refusal(install_engine, installed_on=DAY - timedelta(days=1), **arguments) == (
        "installation_overlaps",
        "installed_on",
    )
    assert install_engine(installed_on=DAY, **arguments).pk


def test_an_engine_leaves_after_it_came(crew):
    held = InstallationFactory(truck__depot=crew.depot)
    arguments = {"user": crew.technician, "engine": held.engine}
    early = held.installed_on - timedelta(days=1)
    assert refusal(uninstall_engine, removed_on=early, **arguments) == ("engine_removed_after_installed", "removed_on")
    uninstall_engine(removed_on=DAY, **arguments)
    assert refusal(uninstall_engine, removed_on=DAY, **arguments) == ("not_installed", "engine")
    assert Installation.objects.get().removed_on == DAY


def test_an_engine_is_added_and_its_serial_is_its_own(crew):
    arguments = {"user": crew.manager, "depot": crew.depot, "model": "Skerry 11"}
    assert add_engine(serial="E1", **arguments).layout == Engine.Layout.SINGLE
    assert refusal(add_engine, serial="E1", **arguments) == ("unique", "serial")
    assert refusal(add_engine, serial="", **arguments) == ("blank", "serial")


def test_an_engines_layout_stays_once_turbochargers_were_fitted(crew):
    engine = FitmentFactory(turbocharger__depot=crew.depot).engine
    assert refusal(edit_engine, user=crew.manager, engine=engine, layout="twin") == ("layout_in_use", "layout")


def test_an_installed_engine_changes_depot_only_with_its_truck(crew):
    engine = InstallationFactory(truck__depot=crew.depot).engine
    other = DepotFactory()
    crew.manager.memberships.create(depot=other, role="manager")
    assert refusal(edit_engine, user=crew.manager, engine=engine, depot=other) == ("follows_truck", "depot")
