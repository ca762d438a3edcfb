"""The page of the policy."""

import pytest
from django.urls import reverse

from checks.models import Policy
from tests.checks.registers.pages.posting import POLICY

pytestmark = pytest.mark.django_db


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
