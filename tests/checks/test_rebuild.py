"""Derived rows can be made anew from the records, with the same numbers."""

from io import StringIO

import pytest
from django.core.management import call_command

from checks.models import Assessment, Standing
from checks.services.check import record_check
from tests.bay import make_bay

pytestmark = pytest.mark.django_db


def rebuild(**options) -> str:
    out = StringIO()
    call_command("rebuild", stdout=out, **options)
    return out.getvalue()


def test_a_rebuild_changes_nothing_where_nothing_was_wrong():
    bay = make_bay()
    record_check(user=bay.technician, submission=bay.submission())
    assert rebuild(verdicts=True).startswith(
        "Verdicts: 1 checks judged, 0 strokes changed.\n"
        "Forecasts: 0 derived from 0 fits, 0 fits new, 0 changed.\nStandings: 1 derived, 1 changed.\n"
    )
    assert "Standings: 1 derived, 0 changed.\n" in rebuild()
    assert [row.basis for row in Assessment.objects.order_by("pk")] == ["recorded", "rebuilt"]


def test_a_rebuild_mends_what_was_damaged():
    bay = make_bay()
    record_check(user=bay.technician, submission=bay.submission())
    Standing.objects.update(state="void", due_on=None)
    assert "Standings: 1 derived, 1 changed.\n" in rebuild()
    assert Standing.objects.get().state == "inside"
