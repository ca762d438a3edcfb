"""The page of a check keeps what was amended and judged before, and is for those of the depot."""

import pytest
from django.urls import reverse

from checks.models import Amendment, Assessment
from fleet.models import Membership
from reports.selectors.check import check_page
from tests.bay import make_bay, person
from tests.factories import SpecificationFactory
from tests.reports.check_page import page

pytestmark = pytest.mark.django_db


def test_amendments_show_what_was_what_is_who_and_why(checked, signed_in):
    bay = make_bay()
    check = checked(bay)
    Amendment.objects.create(
        check_made=check, field="note", old_value="", new_value="Boot torn", reason="Forgotten", author=bay.manager
    )
    text = page(signed_in, bay.viewer, check)
    for shown in ("Amendments", "Boot torn", "Forgotten", bay.manager.display_name):
        assert shown in text


def test_earlier_verdicts_are_kept_and_shown(checked, signed_in):
    bay = make_bay()
    check = checked(bay)
    old = Assessment.objects.get(stroke__check_made=check)
    revised = SpecificationFactory(turbocharger_model=bay.turbocharger.model, effective_from="2024-01-01")
    Assessment.objects.filter(pk=old.pk).update(is_current=False)
    old.pk, old.is_current, old.specification, old.basis = None, True, revised, "new revision"
    old.save()
    found = check_page(user=bay.viewer, pk=check.pk)
    assert [verdict.revision for verdict in found.earlier] == [bay.specification.revision]
    assert found.last.verdict.revision == revised.revision
    assert "Earlier verdicts" in page(signed_in, bay.viewer, check)


def test_the_technician_and_managers_may_amend_others_not(checked):
    bay = make_bay()
    check = checked(bay)
    colleague = person(bay.depot, Membership.Role.TECHNICIAN)
    allowed = [check_page(user=user, pk=check.pk).may_amend for user in (bay.technician, bay.manager)]
    assert allowed == [True, True]
    assert not check_page(user=colleague, pk=check.pk).may_amend
    assert not check_page(user=bay.viewer, pk=check.pk).may_amend


@pytest.mark.parametrize("name", ["check", "check_sheet"])
def test_a_check_of_another_depot_is_not_found(checked, signed_in, name):
    bay, other = make_bay(), make_bay()
    address = reverse(f"reports:{name}", args=[checked(bay).pk])
    assert signed_in(other.manager).get(address).status_code == 404
    assert signed_in(None).get(address).status_code == 302
