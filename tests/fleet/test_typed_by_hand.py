"""A truck typed in by hand: each page leads to the next and hands on what is known."""

import pytest
from django.urls import reverse

from fleet.models import Fitment, Truck, TurbochargerModel
from tests.factories import TurbochargerModelFactory

pytestmark = pytest.mark.django_db


def onward(client, address, typed):
    """Send a form and open the page that it leads to."""
    page = client.post(address, typed, follow=True)
    assert page.redirect_chain, page.context["form"].errors
    return page, page.redirect_chain[-1][0]


def test_from_the_truck_to_the_fitting_nothing_is_typed_twice(crew, signed_in):
    client, model = signed_in(crew.manager), TurbochargerModelFactory()
    truck = {"unit_number": "31 A&B", "depot": crew.depot.pk, "check_digit": "required", "in_service_on": "2024-01-15"}
    page, _ = onward(client, reverse("fleet:truck_add"), truck)
    address = reverse("fleet:engine_add") + "?truck=31%20A%26B"
    assert f'href="{address}"' in page.content.decode()
    engine = {"serial": "SK/31", "model": "Skerry 13", "layout": "twin", "depot": crew.depot.pk}
    page, address = onward(client, address, engine)
    assert page.context["form"]["truck"].value() == "31 A&B"
    page, _ = onward(client, address, {"truck": "31 A&B", "installed_on": "2024-01-15"})
    address = reverse("fleet:turbocharger_add") + "?engine=SK%2F31&amp;position=rear"
    assert f'href="{address}"' in page.content.decode()
    unit = {"serial": "TN-31R", "model": model.pk, "origin": "new", "received_on": "2024-01-02", "depot": crew.depot.pk}
    page, address = onward(client, address.replace("&amp;", "&"), unit)
    form = page.context["form"]
    assert (form["engine"].value(), form["position"].value()) == ("SK/31", "rear")
    onward(client, address, {"engine": "SK/31", "position": "rear", "fitted_on": "2024-01-15"})
    fitted = Fitment.objects.get()
    assert (fitted.turbocharger.serial, fitted.position) == ("TN-31R", "rear")
    assert fitted.engine.installations.get().truck == Truck.objects.get()


def test_without_anything_handed_on_each_form_ends_on_its_own_page(crew, signed_in):
    client = signed_in(crew.manager)
    engine = {"serial": "SK-32", "model": "Skerry 11", "layout": "single", "depot": crew.depot.pk}
    page, address = onward(client, reverse("fleet:engine_add"), engine)
    assert address == reverse("fleet:engine", args=[page.context["engine"].pk])


def test_a_new_model_leads_to_its_specification(crew, signed_in):
    typed = {"name": "Tern 9", "stimulus": "electric"}
    answer = signed_in(crew.manager).post(reverse("fleet:model_add"), typed)
    assert answer.url == reverse("checks:specification_add", args=[TurbochargerModel.objects.get().pk])
