"""The questions of a demonstration: who sees them, what they cost, and that they say where records differ."""

import json
import re
from datetime import timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from django.conf import settings
from django.db import IntegrityError, connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from fleet.management.demo.mark import set_mark
from fleet.models import Complaint, Demonstration
from reports.pages.tour_questions import QUESTIONS
from reports.selectors.planted import same_set
from tests.factories import TruckFactory, TurbochargerFactory, UserFactory
from tests.world import make_world

pytestmark = pytest.mark.django_db
TRUTH = json.loads((settings.BASE_DIR / "fixtures/demo/truth.json").read_text(encoding="utf-8"))


@pytest.fixture
def world() -> SimpleNamespace:
    return make_world()


@pytest.fixture
def invented(world: SimpleNamespace) -> SimpleNamespace:
    """The world's fleet, marked as invented; none of what the truth tells is in it."""
    set_mark(planted=TRUTH, monday=timezone.localdate(), loaded_at=timezone.now())
    return world


def page_of(user: Any, signed_in: Any, address: str = "") -> str:
    answer = signed_in(user).get(address or reverse("reports:tour"))
    assert answer.status_code == 200
    return answer.content.decode()


def test_a_fleet_of_ones_own_has_no_such_page_and_no_word_of_it(world: SimpleNamespace, signed_in: Any):
    assert signed_in(world.manager).get(reverse("reports:tour")).status_code == 404
    assert reverse("reports:tour") not in page_of(world.manager, signed_in, "/")
    assert "-and-the-tide" not in Client().get(reverse("login")).content.decode()


def test_the_sign_in_of_a_demonstration_tells_who_may_enter(invented: SimpleNamespace):
    said = Client().get(reverse("login")).content.decode()
    for person in Demonstration.objects.get().people:
        assert f"<b>{person['username']}</b>" in said
        assert person["password"] in said
    assert said.index("marram") < said.index("warden")


def test_the_board_of_a_demonstration_leads_to_its_questions(invented: SimpleNamespace, signed_in: Any):
    assert f'href="{reverse("reports:tour")}"' in page_of(invented.viewer, signed_in, "/")


def test_whoever_signs_in_to_a_demonstration_finds_the_questions_from_every_page(invented: SimpleNamespace):
    link, client = f'<a href="{reverse("reports:tour")}">Questions to try</a>', Client()
    invented.viewer.set_password("a-long-and-quiet-tide")
    invented.viewer.save()
    client.post(reverse("login"), {"username": invented.viewer.username, "password": "a-long-and-quiet-tide"})
    assert link in client.get(reverse("reports:due")).content.decode()
    Demonstration.objects.all().delete()
    client.logout()
    client.post(reverse("login"), {"username": invented.viewer.username, "password": "a-long-and-quiet-tide"})
    assert link not in client.get(reverse("reports:due")).content.decode()


@pytest.mark.parametrize("who", ["viewer", "technician", "manager", "outsider", "operator"])
def test_whoever_belongs_to_a_depot_may_try_the_questions(who: str, invented: SimpleNamespace, signed_in: Any):
    said = page_of(getattr(invented, who), signed_in)
    assert said.count("What was planted</summary>") == len(QUESTIONS)


def test_nobody_else_may(invented: SimpleNamespace, signed_in: Any):
    assert signed_in(UserFactory()).get(reverse("reports:tour")).status_code == 403
    answer = Client().get(reverse("reports:tour"))
    assert (answer.status_code, answer.headers["Location"].partition("?")[0]) == (302, reverse("login"))


def test_the_page_only_reads_and_costs_the_same_with_more_units(
    invented: SimpleNamespace, signed_in: Any, no_writes: Any
):
    def cost() -> int:
        client = signed_in(invented.manager)
        with no_writes(), CaptureQueriesContext(connection) as asked:
            assert client.get(reverse("reports:tour")).status_code == 200
        return len(asked)

    few = cost()
    for serial in list(TRUTH["units"])[:12]:
        TurbochargerFactory(serial=serial, depot=invented.depot)
    TruckFactory.create_batch(3, depot=invented.depot)
    assert cost() == few
    assert few <= 40


def test_what_lies_at_other_depots_is_not_told(invented: SimpleNamespace, signed_in: Any):
    said = page_of(invented.outsider, signed_in)
    assert "Nothing of it is on record at your depots" in said
    assert not set(TRUTH["units"]) & set(re.findall(r"[A-Z]{2}\d-\d{4}R?", said))


def test_it_says_that_somebody_entered_something_since(invented: SimpleNamespace, signed_in: Any):
    assert "Nothing was entered since it was loaded" in page_of(invented.viewer, signed_in)
    day = timezone.localdate() - timedelta(days=1)
    Complaint.objects.create(truck=invented.truck, kind="noise", raised_on=day, raised_by="the driver")
    assert "somebody entered complaints: what is found now may differ" in page_of(invented.viewer, signed_in)


def test_a_set_that_differs_says_how():
    row = same_set("Never checked", ["A", "B"], ["B", "C"])
    assert (row.planted, row.found, row.holds) == ("A, B", "B, C", False)
    assert row.word == "C besides and without A"
    assert same_set("Never checked", ["A"], ["A"]).holds


def test_there_is_one_demonstration_at_most(invented: SimpleNamespace):
    again = {"carrier": "Another", "monday": timezone.localdate(), "truth": {}, "people": []}
    with pytest.raises(IntegrityError, match="one_demonstration_row"), transaction.atomic():
        Demonstration.objects.create(pk=2, loaded_at=timezone.now(), **again)


def test_ten_questions_are_asked_by_everybody_who_works_with_it():
    assert len(QUESTIONS) == len({question.key for question in QUESTIONS}) == 10
    assert {question.who for question in QUESTIONS} == {
        "a technician", "a manager", "a reliability engineer", "an instrument keeper",
    }  # fmt: skip
    assert all(2 <= len(question.steps) <= 3 for question in QUESTIONS)
