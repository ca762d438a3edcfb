"""The register for administrators."""

import pytest
from django.contrib import admin
from django.urls import reverse

from fleet.models import Membership, Truck, User
from tests.factories import FitmentFactory, InstallationFactory, TruckFactory

pytestmark = pytest.mark.django_db
OURS = [model for model in admin.site._registry if model._meta.app_label == "fleet"]


@pytest.fixture
def client(crew, signed_in):
    crew.manager.is_staff = crew.manager.is_superuser = True
    crew.manager.save()
    return signed_in(crew.manager)


@pytest.mark.parametrize("model", OURS, ids=lambda model: model.__name__)
def test_every_list_and_form_opens(client, crew, model):
    fitment = FitmentFactory(turbocharger__depot=crew.depot)
    InstallationFactory(truck__depot=crew.depot, engine=fitment.engine)
    name = f"admin:fleet_{model._meta.model_name}"
    assert client.get(reverse(f"{name}_changelist")).status_code == 200
    row = model.objects.first()
    if row is not None:
        assert client.get(reverse(f"{name}_change", args=[row.pk])).status_code == 200
        if model not in (User, Membership):
            assert client.post(reverse(f"{name}_delete", args=[row.pk]), {"post": "yes"}).status_code == 403


def test_the_vin_is_held_to_its_check_digit_here_too(client, crew):
    truck = TruckFactory(depot=crew.depot)
    typed = {
        "unit_number": truck.unit_number,
        "check_digit": "required",
        "in_service_on": "2020-01-01",
        "description": "",
    }
    address = reverse("admin:fleet_truck_change", args=[truck.pk])
    answer = client.post(address, typed | {"vin": "1M8GDM9A0KP042788"})
    assert "must be X" in answer.context["adminform"].form.errors["vin"][0]
    assert client.post(address, typed | {"vin": "1m8gdm9axkp042788"}).status_code == 302
    assert Truck.objects.get().vin == "1M8GDM9AXKP042788"
    assert Truck.objects.get().depot == crew.depot
