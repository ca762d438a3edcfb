"""The register's pages write: fitments, meters, notes, depots, people."""

from datetime import date

import pytest
from django.urls import reverse

from fleet.models import Fitment, MeterReading, Note, Truck
from tests.factories import EngineFactory, InstallationFactory, TruckFactory, TurbochargerFactory
from tests.read_pages import text

pytestmark = pytest.mark.django_db


def test_a_technician_fits_and_swaps_on_the_pages(crew, signed_in):
    engine = InstallationFactory(truck__depot=crew.depot, truck__unit_number="114").engine
    first, second = TurbochargerFactory(depot=crew.depot), TurbochargerFactory(depot=crew.depot)
    client = signed_in(crew.technician)
    fit = {"engine": "114", "position": "single", "fitted_on": "2022-05-01", "odometer_0": "1000", "odometer_1": "mi"}
    names = (
        client.get(reverse("fleet:fit", args=[first.pk])).context["form"]["odometer"].subwidgets[0].data["subwidgets"]
    )
    fit = {key: value for key, value in fit.items() if not key.startswith("odometer")}
    fit |= {names[0]["name"]: "1000", names[1]["name"]: "mi"}
    assert client.post(reverse("fleet:fit", args=[first.pk]), fit).status_code == 302
    swap = {"on": second.serial, "swapped_on": "2023-05-01", "reason": "worn"}
    assert client.post(reverse("fleet:swap", args=[first.pk]), swap).status_code == 302
    assert Fitment.objects.get(turbocharger=first).fitted_odometer_km == pytest.approx(1609.344)
    assert Fitment.objects.get(turbocharger=second, removed_on=None).engine == engine
    page = text(client.get(reverse("fleet:turbocharger", args=[first.pk])))
    assert "In stock at Saltmarsh." in page
    assert "worn" in page


def test_a_refused_form_keeps_everything_typed_and_says_why_at_the_field(crew, signed_in):
    typed = {
        "unit_number": "114", "depot": crew.depot.pk, "vin": "1M8GDM9A0KP042788", "check_digit": "required",
        "in_service_on": "2999-01-01", "description": "lime tipper",
    }  # fmt: skip
    answer = signed_in(crew.manager).post(reverse("fleet:truck_add"), typed)
    errors = answer.context["form"].errors
    assert "must be X" in errors["vin"][0]
    assert "lies in the future" in errors["in_service_on"][0]
    page = text(answer)
    assert all(f'value="{typed[name]}"' in page for name in ("unit_number", "vin", "in_service_on", "description"))
    assert not Truck.objects.exists()


@pytest.mark.parametrize("nonsense", ["", "NaN", "abc", "-5", "1e9", "9" * 30, "2026-13-45", "\x00", "<script>"])
def test_no_nonsense_in_any_field_is_a_server_error_or_a_row(crew, signed_in, nonsense):
    truck, unit = TruckFactory(depot=crew.depot), TurbochargerFactory(depot=crew.depot)
    engine = EngineFactory(depot=crew.depot)
    client = signed_in(crew.manager)
    forms = {
        "truck_add": [], "engine_add": [], "turbocharger_add": [], "model_add": [], "depot_add": [], "person_add": [],
        "meter_add": [truck.pk], "truck_edit": [truck.pk], "engine_edit": [engine.pk],
        "install": [engine.pk], "uninstall": [engine.pk], "fit": [unit.pk], "remove": [unit.pk], "swap": [unit.pk],
        "turbocharger_edit": [unit.pk], "me": [],
    }  # fmt: skip
    for name, words in forms.items():
        address = reverse(f"fleet:{name}", args=words)
        form = client.get(address).context["form"]
        typed = {field.html_name: nonsense for field in form}
        assert client.post(address, typed).status_code == 200, name
    assert (Truck.objects.count(), MeterReading.objects.count(), Fitment.objects.count()) == (1, 0, 0)


def test_a_meter_is_typed_in_the_persons_own_unit_at_the_depots_time(crew, signed_in):
    crew.depot.time_zone = "America/Denver"
    crew.depot.save()
    crew.technician.distance_unit = "mi"
    crew.technician.save()
    truck, client = TruckFactory(depot=crew.depot), signed_in(crew.technician)
    address = reverse("fleet:meter_add", args=[truck.pk])
    widgets = client.get(address).context["form"]["odometer"].subwidgets[0].data["subwidgets"]
    assert widgets[1]["value"] == ["mi"]
    typed = {"read_at": "2024-01-10T08:00", widgets[0]["name"]: "10", widgets[1]["name"]: "mi"}
    assert client.post(address, typed).status_code == 302
    reading = MeterReading.objects.get()
    assert (reading.odometer_typed, reading.read_at.isoformat()) == ("10 mi", "2024-01-10T15:00:00+00:00")
    assert "10 mi" in text(client.get(reverse("fleet:truck", args=[truck.pk])))


def test_notes_are_written_on_the_pages(crew, signed_in):
    unit, client = TurbochargerFactory(depot=crew.depot), signed_in(crew.technician)
    assert client.post(reverse("fleet:note_add", args=[unit.pk]), {"text": "rod end freed"}).status_code == 302
    assert Note.objects.get().author == crew.technician


def test_the_record_of_changes_says_who_changed_what_and_why(crew, signed_in):
    truck, client = TruckFactory(depot=crew.depot, description="tipper"), signed_in(crew.manager)
    typed = {
        "unit_number": truck.unit_number, "depot": crew.depot.pk, "check_digit": "required", "description": "tanker",
        "in_service_on": "2020-01-01", "reason": "rebuilt",
    }  # fmt: skip
    assert client.post(reverse("fleet:truck_edit", args=[truck.pk]), typed).status_code == 302
    page = text(client.get(reverse("fleet:truck", args=[truck.pk])))
    assert "marram: truck changed, “rebuilt”" in page
    assert "description: tipper → tanker" in page


def test_a_person_is_taken_off_a_depot_after_asking(crew, signed_in):
    held, client = crew.viewer.memberships.get(), signed_in(crew.manager)
    address = reverse("fleet:person_end", args=[held.pk])
    assert "What the person recorded stays." in text(client.get(address))
    assert crew.viewer.memberships.exists()
    assert client.post(address).status_code == 302
    assert not crew.viewer.memberships.exists()


def test_a_depot_keeps_the_days_on_which_its_bay_works(crew, signed_in):
    client, address = signed_in(crew.manager), reverse("fleet:depot_edit", args=[crew.depot.pk])
    assert client.get(address).context["form"].initial["working_days"] == list("12345")
    typed = {"name": "Saltmarsh", "code": "SALT", "time_zone": "UTC", "checks_per_day": "4", "working_days": ["6", "1"]}
    assert client.post(address, typed).status_code == 302
    crew.depot.refresh_from_db()
    assert crew.depot.working_days == "16"


def test_own_units_and_theme_are_kept(crew, signed_in):
    typed = {"pressure_unit": "psi", "length_unit": "thou", "distance_unit": "mi", "theme": "dark"}
    client = signed_in(crew.viewer)
    assert client.post(reverse("fleet:me"), typed).status_code == 302
    assert 'data-theme="dark"' in text(client.get(reverse("fleet:me")))


def test_installing_moves_the_engine_to_the_trucks_depot(crew, signed_in):
    engine, truck = EngineFactory(depot=crew.depot), TruckFactory(depot=crew.depot)
    client = signed_in(crew.technician)
    typed = {"truck": truck.unit_number, "installed_on": "2023-01-01"}
    assert client.post(reverse("fleet:install", args=[engine.pk]), typed).status_code == 302
    assert engine.installations.get().installed_on == date(2023, 1, 1)
    assert client.post(reverse("fleet:uninstall", args=[engine.pk]), {"removed_on": "2023-02-01"}).status_code == 302
