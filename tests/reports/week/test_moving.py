"""A manager moves checks by hand and plans the bay anew."""

import pytest
from django.urls import reverse

from checks.models import BayPlace
from tests.bay import make_bay
from tests.reports.week.week_days import ahead
from tests.reports.week_units import all_week, due_unit, number_of

pytestmark = pytest.mark.django_db


def post(client, bay, name, **typed):
    """Send one of the week's forms."""
    return client.post(reverse(f"reports:{name}", args=[bay.depot.code]), typed)


def test_a_manager_moves_a_check_and_gives_it_back(bay, signed_in):
    unit, client = due_unit(bay, 1), signed_in(bay.manager)
    answer = post(client, bay, "week_move", unit=unit.pk, day=str(ahead(4)), **{"from": str(ahead(0))})
    assert answer.url.endswith(f"?from={ahead(0)}#unit-{unit.pk}")
    assert BayPlace.objects.get(turbocharger=unit).day == ahead(4)
    text = client.get(reverse("reports:week", args=[bay.depot.code])).content.decode()
    assert f"moved by {bay.manager.display_name}" in text
    assert f"{number_of(unit)} is seen on" in text
    post(client, bay, "week_undo", unit=unit.pk)
    assert BayPlace.objects.get(turbocharger=unit).day == ahead(1)


def test_past_a_limit_the_form_asks_for_the_reason_and_keeps_what_was_typed(bay, signed_in):
    unit, client = due_unit(bay, 1, "void"), signed_in(bay.manager)
    answer = post(client, bay, "week_move", unit=unit.pk, day=str(ahead(5)), reason="")
    assert answer.status_code == 422
    text = answer.content.decode()
    assert "Say why it may wait." in text
    assert f'value="{ahead(5)}"' in text
    assert post(client, bay, "week_move", unit=unit.pk, day=str(ahead(5)), reason="On the ferry").status_code == 302
    text = client.get(reverse("reports:week", args=[bay.depot.code])).content.decode()
    assert "past its limit" in text
    assert ": On the ferry" in text


@pytest.mark.parametrize("day", ["", "soon", "2026-02-30", "1900-01-01"])
def test_a_day_that_is_none_is_refused_beside_the_card(day, bay, signed_in):
    answer = post(signed_in(bay.manager), bay, "week_move", unit=due_unit(bay, 1).pk, day=day)
    assert answer.status_code == 422
    assert 'role="alert"' in answer.content.decode()


def test_other_people_and_other_depots_units_cannot_be_moved(bay, signed_in):
    unit, other = due_unit(bay, 1), due_unit(all_week(make_bay()), 1)
    assert post(signed_in(bay.technician), bay, "week_move", unit=unit.pk, day=str(ahead(1))).status_code == 403
    assert post(signed_in(bay.manager), bay, "week_move", unit=other.pk, day=str(ahead(1))).status_code == 404
    text = signed_in(bay.technician).get(reverse("reports:week", args=[bay.depot.code])).content.decode()
    assert "week/move/" not in text


def test_htmx_gets_the_changed_part_alone(bay, signed_in):
    unit = due_unit(bay, 1)
    answer = signed_in(bay.manager).post(
        reverse("reports:week_move", args=[bay.depot.code]),
        {"unit": unit.pk, "day": str(ahead(2))},
        HTTP_HX_REQUEST="true",
    )
    text = answer.content.decode()
    assert text.startswith('<div id="week">')
    assert "is seen on" in text


def test_planning_anew_says_what_came_of_it(bay, signed_in):
    due_unit(bay, 1)
    client = signed_in(bay.manager)
    post(client, bay, "week_plan")
    text = client.get(reverse("reports:week", args=[bay.depot.code])).content.decode()
    assert "Planned anew: 1 checks have a day." in text
