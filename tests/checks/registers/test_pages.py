"""Pages of the registers: a form in units becomes exact rows, and a refusal loses nothing that was typed."""

import pytest
from django.urls import reverse

from checks.models import Certificate, Instrument, Policy, SpecificationRevision
from checks.services.certificate import add_certificate
from checks.services.instrument import add_instrument
from checks.services.specification import add_specification
from tests.checks.registers.conftest import COMMON, DIAL, GAUGE, KINDS
from tests.checks.registers.test_certificates import CERTIFICATE

pytestmark = pytest.mark.django_db


def posted(entry):
    """An entry as a browser sends it."""
    data = {}
    for name, value in entry.items():
        if isinstance(value, list):
            data |= {f"{name}_text": value[0], f"{name}_unit": value[1]}
        else:
            data[name] = value
    return data


@pytest.fixture
def specification(manager, pneumatic):
    return add_specification(author=manager, turbocharger_model=pneumatic, entry=COMMON)


@pytest.fixture
def dial(manager, depot):
    return add_instrument(author=manager, kind="dial", entry={**DIAL, "depot": str(depot.pk)})


def test_a_specification_is_added_through_its_form(signed_in, manager, pneumatic):
    address = reverse("checks:specification_add", args=[pneumatic.pk])
    answer = signed_in(manager).post(address, posted(COMMON), follow=True)
    row = SpecificationRevision.objects.get()
    assert answer.redirect_chain[-1][0] == reverse("checks:specification", args=[row.pk])
    assert row.typed["setting"] == ["31", "psi"]
    page = answer.content.decode()
    assert "213.74 kPa" in page  # 31 x 6.894757 (NIST SP 811), in the reader's unit
    assert "typed 31 psi" in page


def test_the_reader_in_psi_and_thou_sees_psi_and_thou(signed_in, technician, specification):
    technician.pressure_unit, technician.length_unit = "psi", "thou"
    technician.save()
    page = signed_in(technician).get(reverse("checks:specification", args=[specification.pk])).content.decode()
    assert "31 psi" in page
    assert "59 thou" in page
    assert "typed 0.059 in" in page


def test_a_refused_specification_keeps_all_that_was_typed(signed_in, manager, pneumatic):
    entry = {**COMMON, "setting": ["thirty", "psi"], "note": "from the binder"}
    answer = signed_in(manager).post(reverse("checks:specification_add", args=[pneumatic.pk]), posted(entry))
    page = answer.content.decode()
    assert answer.status_code == 422
    assert not SpecificationRevision.objects.exists()
    assert 'value="thirty"' in page
    assert 'value="0.059"' in page
    assert "from the binder" in page
    assert "is not a number" in page


def test_a_doubtful_value_is_confirmed_on_the_page(signed_in, manager, pneumatic):
    client, address = signed_in(manager), reverse("checks:specification_add", args=[pneumatic.pk])
    entry = {**COMMON, "zero_tolerance_stimulus": ["2", "psi"]}
    asked = client.post(address, posted(entry))
    assert asked.status_code == 422
    assert 'name="confirmed"' in asked.content.decode()
    assert not SpecificationRevision.objects.exists()
    assert client.post(address, {**posted(entry), "confirmed": "1"}).status_code == 302
    assert SpecificationRevision.objects.count() == 1


def test_sending_the_same_specification_twice_makes_one_row(signed_in, manager, pneumatic):
    client, address = signed_in(manager), reverse("checks:specification_add", args=[pneumatic.pk])
    assert [client.post(address, posted(COMMON)).status_code for _ in range(2)] == [302, 422]
    assert SpecificationRevision.objects.count() == 1


def test_revising_begins_with_the_old_values_as_typed(signed_in, manager, specification):
    page = signed_in(manager).get(reverse("checks:specification_revise", args=[specification.pk])).content.decode()
    assert 'value="31"' in page
    assert '<option value="psi" selected>' in page
    assert 'value="0.059"' in page


def test_an_unused_revision_is_corrected_and_ended(signed_in, manager, specification):
    client = signed_in(manager)
    address = reverse("checks:specification_correct", args=[specification.pk])
    assert client.post(address, posted({**COMMON, "revision": "A1"})).status_code == 302
    address = reverse("checks:specification_end", args=[specification.pk])
    assert client.post(address, {"effective_to": "2026-01-01", "reason": "recalled"}).status_code == 302
    specification.refresh_from_db()
    assert (specification.revision, str(specification.effective_to)) == ("A1", "2026-01-01")


def test_the_list_names_the_models_without_a_specification(signed_in, viewer, specification, electric):
    page = signed_in(viewer).get(reverse("checks:specifications")).content.decode()
    assert "No specification is in force today for Tern 60 E" in page
    assert "revision A" in page
    assert "Revise" not in page


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


@pytest.mark.parametrize("name", ["revise", "correct", "end"])
def test_forms_about_specifications_are_for_managers(signed_in, technician, specification, name):
    assert (
        signed_in(technician).post(reverse(f"checks:specification_{name}", args=[specification.pk])).status_code == 403
    )


def test_a_manager_here_who_only_reads_there_may_not_edit_there(signed_in, stranger, viewer, manager, dial):
    from fleet.models import Membership

    Membership.objects.create(user=stranger, depot=dial.depot, role=Membership.Role.VIEWER)
    client = signed_in(stranger)
    assert client.get(reverse("checks:instrument", args=[dial.pk])).status_code == 200
    assert client.get(reverse("checks:instrument_edit", args=[dial.pk])).status_code == 403


POLICY = {
    "inside_level_text": "95",
    "inside_level_unit": "%",
    "risk_level_text": "5",
    "risk_level_unit": "%",
    "leaving_level_text": "50",
    "leaving_level_unit": "%",
    "target_outside_text": "5",
    "target_outside_unit": "%",
    "risk_min_days": "30",
    "horizon_days": "90",
    "usage_basis": "km",
    "first_look_km_text": "50000",
    "first_look_km_unit": "mi",
    "usage_max_km_text": "120000",
    "usage_max_km_unit": "km",
    "after_adjustment_km_text": "20000",
    "after_adjustment_km_unit": "km",
    "fallback_km_per_day_text": "350",
    "fallback_km_per_day_unit": "km",
    "first_look_days": "365",
    "calendar_max_days": "300",
    "after_adjustment_days": "60",
    "undecided_days": "14",
    "void_days": "7",
    "outside_days": "3",
    "complaint_days": "14",
    "reason": "a harder winter",
}


def test_a_manager_changes_the_policy_and_everybody_reads_it(signed_in, manager, viewer):
    """1 mi = 1.609344 km exactly (1959 yard agreement)."""
    assert signed_in(manager).post(reverse("checks:policy"), POLICY).status_code == 302
    row = Policy.objects.get()
    assert (row.first_look_km, row.calendar_max_days) == (pytest.approx(80_467.2), 300)
    page = signed_in(viewer).get(reverse("checks:policy")).content.decode()
    assert "80,467 km" in page
    assert "a harder winter" in page
    assert "Change the policy" not in page


@pytest.mark.parametrize(
    ("field", "text"),
    [
        ("inside_level_text", "50"),
        ("inside_level_text", "100"),
        ("void_days", "0"),
        ("risk_level_text", "50"),
        ("leaving_level_text", "4"),
        ("target_outside_text", "0"),
        ("horizon_days", ""),
        ("usage_basis", "moons"),
        ("usage_max_km_text", "NaN"),
        ("reason", ""),
    ],
)
def test_a_policy_that_makes_no_sense_is_refused(signed_in, manager, field, text):
    answer = signed_in(manager).post(reverse("checks:policy"), {**POLICY, field: text})
    assert answer.status_code == 422
    assert not Policy.objects.exists()


def test_a_technician_may_not_change_the_policy(signed_in, technician):
    assert signed_in(technician).post(reverse("checks:policy"), POLICY).status_code == 403


def test_pages_only_read(signed_in, manager, specification, dial, no_writes):
    client = signed_in(manager)
    addresses = [
        reverse("checks:specifications"),
        reverse("checks:specification", args=[specification.pk]),
        reverse("checks:instruments"),
        reverse("checks:instrument", args=[dial.pk]),
        reverse("checks:fitness"),
        reverse("checks:policy"),
    ]
    with no_writes():
        assert {client.get(address).status_code for address in addresses} == {200}
