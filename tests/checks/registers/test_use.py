"""What checks were made by and with: used revisions stay as they are, and instruments know their use."""

from datetime import date, timedelta

import pytest

from checks.models import Certificate
from checks.selectors.instrument import certificate_rows, use_of
from checks.selectors.specification import is_used, revision_rows
from checks.services.check import record_check
from checks.services.specification import correct_specification, end_specification
from fleet.problems import FleetError, FleetErrors
from tests.bay import make_bay
from tests.checks.registers.conftest import COMMON

pytestmark = pytest.mark.django_db


@pytest.fixture
def bay():
    bay = make_bay()
    for day in ("2025-02-04", "2025-03-04"):
        at = f"{day}T09:30:00+00:00"
        record_check(
            user=bay.technician,
            submission=bay.submission(made_at=at, cautions_read_at=at, odometer=None, engine_hours=None),
        )
    return bay


def test_a_revision_that_judged_a_check_is_used_and_cannot_be_corrected(bay):
    assert is_used(bay.specification)
    row = revision_rows(bay.manager, bay.turbocharger.model, on=date(2026, 1, 1))[0]
    assert (row.used, row.checks) == (True, 2)
    before = bay.specification.setting
    with pytest.raises(FleetError) as caught:
        correct_specification(author=bay.manager, specification=bay.specification, entry=COMMON)
    assert (caught.value.code, caught.value.status) == ("revision_in_use", 409)
    bay.specification.refresh_from_db()
    assert bay.specification.setting == before


def test_a_revision_cannot_end_before_the_last_check_it_judged(bay):
    entry = {"effective_to": "2025-03-03", "reason": "replaced"}
    with pytest.raises(FleetErrors, match="1 checks made after") as caught:
        end_specification(author=bay.manager, specification=bay.specification, entry=entry)
    assert caught.value.code == "checked_after_end"
    entry["effective_to"] = "2025-03-04"
    assert end_specification(author=bay.manager, specification=bay.specification, entry=entry).effective_to


def test_an_instrument_knows_how_often_it_was_used(bay):
    use = use_of(bay.dial)
    assert (use.checks, use.last_on) == (2, date(2025, 3, 4))


def test_a_certificate_counts_the_checks_since_the_one_before(bay):
    first = bay.dial.certificates.get()
    between, after = date(2025, 2, 20), date(2025, 4, 1)
    for number, day in (("X1", between), ("X2", after)):
        Certificate.objects.create(instrument=bay.dial, number=number, issued_on=day, due_on=day + timedelta(days=365))
    counts = {row.certificate.number: row.checks_since_previous for row in certificate_rows(bay.dial)}
    assert counts == {first.number: 0, "X1": 1, "X2": 1}
