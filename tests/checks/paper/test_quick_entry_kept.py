"""What is typed in from paper is kept while typing, sent once, and never mixed with another check."""

import pytest
from django.test import Client

from checks.models import Check, Draft
from checks.services.draft import begin_draft
from tests.bay import make_bay
from tests.checks.paper.paper_sheet import KEY, look, send, sheet

pytestmark = pytest.mark.django_db


def test_sent_twice_it_is_one_check_and_the_draft_is_gone() -> None:
    bay = make_bay()
    send(bay, sheet(bay, action="keep"))
    assert Draft.objects.get().step == "paper"
    first, second = send(bay, sheet(bay)), send(bay, sheet(bay))
    assert first.url == second.url
    assert Check.objects.count() == 1
    assert not Draft.objects.exists()


def test_another_content_under_the_same_key_is_told_and_nothing_is_lost() -> None:
    bay = make_bay()
    send(bay, sheet(bay))
    answer = send(bay, sheet(bay, note="second thoughts"))
    assert answer.status_code == 409
    assert "second thoughts" in answer.content.decode()
    assert Check.objects.count() == 1


def test_what_is_kept_while_typing_comes_back_and_is_its_own_page() -> None:
    bay = make_bay()
    answer = send(bay, {"key": KEY, "action": "keep", "day": "2025-03-04", "found-zero-p": "0,1"})
    assert answer.status_code == 200
    assert "kept" in answer.json()
    text = look(bay)
    assert KEY in text
    assert 'value="0,1"' in text
    assert 'value="0,1"' not in look(bay, bay.manager)
    client = Client()
    client.force_login(bay.technician)
    assert client.get(f"/checks/drafts/{KEY}/paper/").url == f"/checks/quick/{bay.turbocharger.pk}/"
    assert client.post(f"/checks/begin/{bay.turbocharger.pk}/").url == f"/checks/drafts/{KEY}/paper/"


def test_a_guided_check_under_way_is_not_mixed_with_paper() -> None:
    bay = make_bay()
    begin_draft(user=bay.technician, turbocharger=bay.turbocharger)
    assert "is under way" in look(bay)
    assert send(bay, {"key": KEY, "action": "keep", "day": "2025-03-04"}).status_code == 409
    assert Draft.objects.get().step == "reason"


def test_only_whoever_may_check_the_unit_may_type_in_its_sheet() -> None:
    bay = make_bay()
    assert send(bay, sheet(bay), bay.viewer).status_code in {403, 404}
    assert send(bay, sheet(bay), make_bay().technician).status_code == 404
    assert not Check.objects.exists()
