"""Pages of instruments and their certificates: a form in units becomes exact rows."""

import pytest
from django.urls import reverse

from checks.models import Certificate, Instrument
from checks.services.certificate import add_certificate
from checks.services.instrument import add_instrument
from tests.bay import calibrated
from tests.checks.registers.conftest import DIAL, GAUGE, KINDS
from tests.checks.registers.pages.posting import posted
from tests.checks.registers.test_certificates import CERTIFICATE
from tests.factories import GaugeFactory

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("kind", list(KINDS))
def test_every_kind_of_instrument_is_added_shown_and_edited(signed_in, manager, depot, kind):
    client = signed_in(manager)
    entry = posted({**KINDS[kind], "depot": str(depot.pk)})
    answer = client.post(reverse("checks:instrument_add_kind", args=[kind]), entry, follow=True)
    row = Instrument.objects.get()
    assert row.label in answer.content.decode()
    page = client.get(reverse("checks:instrument_edit", args=[row.pk])).content.decode()
    for text, _ in row.typed.values():
        assert f'value="{text}"' in page
    assert client.post(reverse("checks:instrument_edit", args=[row.pk]), entry).status_code == 302


def test_a_refused_instrument_keeps_all_that_was_typed(signed_in, manager, depot):
    entry = posted({**GAUGE, "depot": str(depot.pk), "division": ["0", "psi"], "description": "brass, 100 mm"})
    answer = signed_in(manager).post(reverse("checks:instrument_add_kind", args=["gauge"]), entry)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "brass, 100 mm" in page
    assert 'value="1.6"' in page
    assert not Instrument.objects.exists()


def certificate_data(**changes):
    data = {name: value for name, value in CERTIFICATE.items() if isinstance(value, str)} | {"not_adjusted": "1"}
    for i, point in enumerate(CERTIFICATE["points"]):
        data |= {f"points-{i}-{'value' if name == 'error' else name}": text for name, text in point.items()}
    return data | {"rows": "6", **changes}


@pytest.fixture
def gauge(manager, depot):
    return add_instrument(author=manager, kind="gauge", entry={**GAUGE, "depot": str(depot.pk)})


def test_a_certificate_begins_in_the_unit_of_the_scale_not_in_the_persons_own(manager, gauge, signed_in):
    page = signed_in(manager).get(reverse("checks:certificate_add", args=[gauge.pk]))
    assert manager.pressure_unit == "kPa"
    assert page.context["form"]["unit"].value() == gauge.typed["range_high"][1] == "psi"


def test_a_certificate_is_recorded_through_its_form(signed_in, manager, gauge):
    answer = signed_in(manager).post(
        reverse("checks:certificate_add", args=[gauge.pk]), certificate_data(), follow=True
    )
    assert Certificate.objects.get().points.count() == 6
    assert "K-1041" in answer.content.decode()


def test_more_rows_are_added_without_a_script_and_nothing_is_lost(signed_in, manager, gauge):
    data = certificate_data(more="1")
    page = signed_in(manager).post(reverse("checks:certificate_add", args=[gauge.pk]), data).content.decode()
    assert 'name="points-11-indication"' in page
    assert 'value="K-1041"' in page
    assert not Certificate.objects.exists()


def test_a_wrong_point_is_marked_in_its_own_cell(signed_in, manager, gauge):
    data = certificate_data(**{"points-1-value": "half"})
    answer = signed_in(manager).post(reverse("checks:certificate_add", args=[gauge.pk]), data)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert 'id="points-1-value-fault"' in page
    assert 'value="half"' in page
    assert not Certificate.objects.exists()


def test_an_out_of_tolerance_certificate_says_so_plainly(signed_in, viewer, manager, gauge):
    points = [{**CERTIFICATE["points"][1], "error": "2"}]
    add_certificate(author=manager, instrument=gauge, entry={**CERTIFICATE, "points": points})
    page = signed_in(viewer).get(reverse("checks:instrument", args=[gauge.pk])).content.decode()
    assert "The as-found error exceeds the permissible error" in page
    assert "before this certificate: 0" in page


def test_the_list_shows_what_needs_a_calibration_first(signed_in, viewer, manager, gauge, dial):
    add_certificate(author=manager, instrument=gauge, entry={**CERTIFICATE, "due_on": "2026-03-01"})
    page = signed_in(viewer).get(reverse("checks:instruments")).content.decode()
    assert "1 out of date, 1 without a certificate" in page
    assert page.index("PG-03") < page.index("DI-07")


@pytest.mark.parametrize("count", [2, 20])
def test_the_list_costs_the_same_for_many(signed_in, viewer, manager, depot, count, django_assert_max_num_queries):
    for i in range(count):
        entry = {**DIAL, "depot": str(depot.pk), "label": f"DI-{i}"}
        add_instrument(author=manager, kind="dial", entry=entry)
    client = signed_in(viewer)
    with django_assert_max_num_queries(8):
        client.get(reverse("checks:instruments"))


def test_instruments_of_other_depots_are_not_there(signed_in, stranger, dial):
    client = signed_in(stranger)
    assert "DI-07" not in client.get(reverse("checks:instruments")).content.decode()
    for name in ("instrument", "instrument_edit", "instrument_withdraw", "certificate_add"):
        assert client.get(reverse(f"checks:{name}", args=[dial.pk])).status_code == 404


WRITES = ["instrument_edit", "instrument_withdraw", "instrument_bring_back", "certificate_add"]


@pytest.mark.parametrize("who", ["viewer", "technician"])
@pytest.mark.parametrize("name", WRITES)
def test_forms_about_instruments_are_for_managers(request, signed_in, dial, who, name):
    client = signed_in(request.getfixturevalue(who))
    address = reverse(f"checks:{name}", args=[dial.pk])
    assert client.get(address).status_code == 403
    assert client.post(address, {}).status_code == 403


def test_a_manager_here_who_only_reads_there_may_not_edit_there(signed_in, stranger, viewer, manager, dial):
    from fleet.models import Membership

    Membership.objects.create(user=stranger, depot=dial.depot, role=Membership.Role.VIEWER)
    client = signed_in(stranger)
    assert client.get(reverse("checks:instrument", args=[dial.pk])).status_code == 200
    assert client.get(reverse("checks:instrument_edit", args=[dial.pk])).status_code == 403


@pytest.mark.parametrize(("top", "told"), [(138.0, True), (400.0, False)])
def test_a_certificate_that_ends_far_below_the_scale_says_how_far_it_reaches(signed_in, manager, depot, top, told):
    row = calibrated(GaugeFactory(depot=depot, range_low=0.0, range_high=414.0), top=top, uncertainty=0.7)
    page = signed_in(manager).get(reverse("checks:instrument", args=[row.pk])).content.decode()
    assert (f"Its certificate reaches from 0 kPa to {top:g} kPa. The scale goes on" in page) == told
