"""The register's pages: what they show and what they cost."""

from datetime import UTC, date, datetime

import pytest
from django.urls import reverse

from fleet.models import Depot, Truck
from tests.factories import (
    FitmentFactory,
    InstallationFactory,
    TruckFactory,
    TurbochargerFactory,
)
from tests.read_pages import text

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
