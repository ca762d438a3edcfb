"""The register's pages: what they show, what they refuse, what they cost."""

from datetime import UTC, date, datetime

import pytest
from django.urls import reverse

from fleet.models import Depot, Fitment, MeterReading, Note, Truck
from tests.factories import (
    EngineFactory,
    FitmentFactory,
    InstallationFactory,
    TruckFactory,
    TurbochargerFactory,
)

pytestmark = pytest.mark.django_db
LISTS = (
    "fleet:register",
    "fleet:trucks",
    "fleet:engines",
    "fleet:turbochargers",
    "fleet:models",
    "fleet:depots",
    "fleet:people",
)


def fitted_truck(depot, number="114"):
    fitment = FitmentFactory(turbocharger__depot=depot)
    InstallationFactory(truck__depot=depot, truck__unit_number=number, engine=fitment.engine)
    return fitment


def text(answer) -> str:
    return " ".join(answer.content.decode().split())


def test_the_hub_counts_what_the_persons_depots_hold(crew, signed_in):
    fitted_truck(crew.depot)
    TurbochargerFactory(depot=crew.depot)
    TruckFactory()
    page = text(signed_in(crew.viewer).get(reverse("fleet:register")))
    assert "Your depots hold 1 truck in service and 2 turbochargers, 1 of them in stock." in page
    assert "Bring in a file" not in page
    assert "Bring in a file" in text(signed_in(crew.manager).get(reverse("fleet:register")))


@pytest.mark.parametrize("name", LISTS)
def test_a_list_costs_the_same_at_any_length_and_writes_nothing(
    crew, signed_in, no_writes, name, django_assert_max_num_queries
):
    client = signed_in(crew.manager)
    for start in (0, 20):
        for n in range(start, start + 20):
            fitted_truck(crew.depot, f"{n:03d}")
        with no_writes(), django_assert_max_num_queries(14):
            assert client.get(reverse(name)).status_code == 200


@pytest.mark.parametrize("name", ["trucks", "engines", "turbochargers"])
def test_other_depots_stay_out_of_lists_and_details(crew, signed_in, name):
    fitment = fitted_truck(crew.depot)
    row = {"trucks": Truck.objects.get(), "engines": fitment.engine, "turbochargers": fitment.turbocharger}[name]
    shown = {"trucks": "114", "engines": fitment.engine.serial, "turbochargers": fitment.turbocharger.serial}[name]
    detail = reverse(f"fleet:{name[:-1]}", args=[row.pk])
    stranger, viewer = signed_in(crew.stranger), signed_in(crew.viewer)
    assert shown not in text(stranger.get(reverse(f"fleet:{name}")))
    assert stranger.get(detail).status_code == 404
    assert shown in text(viewer.get(reverse(f"fleet:{name}")))
    assert shown in text(viewer.get(detail))


def test_lists_are_narrowed_and_read_page_by_page(crew, signed_in):
    for n in range(60):
        TruckFactory(depot=crew.depot, unit_number=f"{n:03d}", description="tanker" if n == 7 else "tipper")
    client, address = signed_in(crew.viewer), reverse("fleet:trucks")
    found = client.get(address, {"find": "tank"})
    assert [row.unit_number for row in found.context["rows"]] == ["007"]
    first = client.get(address)
    second = client.get(address + first.context["next"])
    numbers = [row.unit_number for page in (first, second) for row in page.context["rows"]]
    assert numbers == [f"{n:03d}" for n in range(60)]
    assert client.get(address, {"after": "nonsense"}).status_code == 400
    assert client.get(address, {"depot": "x", "retired": "maybe"}).status_code == 200


def test_turbochargers_are_found_by_their_place_and_truck(crew, signed_in):
    fitment, spare = fitted_truck(crew.depot, "114"), TurbochargerFactory(depot=crew.depot)
    client, address = signed_in(crew.viewer), reverse("fleet:turbochargers")

    def serials(**wanted):
        return [row.serial for row in client.get(address, wanted).context["rows"]]

    assert serials(find="114") == [fitment.turbocharger.serial]
    assert serials(place="stock") == [spare.serial]
    assert serials(place="fitted", model=fitment.turbocharger.model_id) == [fitment.turbocharger.serial]


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


def test_a_form_begins_with_the_day_of_its_depot(crew, signed_in, monkeypatch):
    """At 10.30 UTC on 10 March it is past midnight in Kiritimati (UTC+14)."""
    fitment = fitted_truck(crew.depot)
    Depot.objects.filter(pk=crew.depot.pk).update(time_zone="Pacific/Kiritimati")
    truck = Truck.objects.get()
    client = signed_in(crew.technician)
    monkeypatch.setattr("django.utils.timezone.now", lambda: datetime(2026, 3, 10, 10, 30, tzinfo=UTC))
    for page, pk, field in (
        ("fleet:remove", fitment.turbocharger_id, "removed_on"),
        ("fleet:swap", fitment.turbocharger_id, "swapped_on"),
        ("checks:complaint_file", truck.pk, "raised_on"),
    ):
        form = client.get(reverse(page, args=[pk])).context["form"]
        assert form[field].value() == date(2026, 3, 11), page
