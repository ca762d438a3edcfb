"""Pages of specifications: a form in units becomes exact rows, and a refusal loses nothing that was typed."""

import pytest
from django.urls import reverse

from checks.models import SpecificationRevision
from checks.services.specification import add_specification
from tests.checks.registers.conftest import COMMON
from tests.checks.registers.pages.posting import posted

pytestmark = pytest.mark.django_db


@pytest.fixture
def specification(manager, pneumatic):
    return add_specification(author=manager, turbocharger_model=pneumatic, entry=COMMON)


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


@pytest.mark.parametrize("name", ["revise", "correct", "end"])
def test_forms_about_specifications_are_for_managers(signed_in, technician, specification, name):
    assert (
        signed_in(technician).post(reverse(f"checks:specification_{name}", args=[specification.pk])).status_code == 403
    )


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
