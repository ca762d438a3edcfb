"""The board as served: whole for a browser, its list alone for htmx, an answer for every emptiness."""

import pytest
from django.urls import reverse

from fleet.models import Membership
from tests.bay import make_bay, person
from tests.factories import DepotFactory, TurbochargerFactory

pytestmark = pytest.mark.django_db
BOARD = reverse("reports:board")
ASKED = ["", "?find=TC", "?sort=chance", "?sort=unit", "?sort=checked", "?state=never_checked"]


def test_htmx_gets_the_list_and_a_browser_the_page(checked, signed_in):
    bay = make_bay()
    checked(bay)
    client = signed_in(bay.viewer)
    whole = client.get(BOARD)
    part = client.get(BOARD, headers={"HX-Request": "true"})
    restored = client.get(BOARD, headers={"HX-Request": "true", "HX-History-Restore-Request": "true"})
    assert b"<html" in whole.content
    assert b"<html" not in part.content
    assert b"<html" in restored.content
    assert bay.truck.unit_number in part.content.decode()
    assert "HX-Request" in whole["Vary"]


def test_every_row_has_its_strip_with_a_sentence_and_its_state_as_a_word(checked, signed_in):
    bay = make_bay()
    checked(bay, travel="95")
    text = signed_in(bay.viewer).get(BOARD).content.decode()
    assert 'role="img" aria-label="As found 2.41' in text
    assert "</svg>outside high</span>" in text


def test_a_row_shows_what_it_is_now_however_often_it_was_drawn(checked, signed_in):
    bay = make_bay()
    client = signed_in(bay.technician)
    assert "never checked" in client.get(BOARD).content.decode().split("<tbody>")[1]
    checked(bay, travel="95")
    again = client.get(BOARD).content.decode().split("<tbody>")[1]
    assert "</svg>outside high</span>" in again
    assert "never checked" not in again
    assert reverse("checks:complaint_file_unit", args=[bay.turbocharger.pk]) in again
    watched = signed_in(bay.viewer).get(BOARD).content.decode()
    assert reverse("checks:complaint_file_unit", args=[bay.turbocharger.pk]) not in watched


def test_a_filter_that_nothing_answers_offers_the_way_back(signed_in):
    text = signed_in(make_bay().viewer).get(BOARD, {"find": "<script>"}).content.decode()
    assert "No unit matches “&lt;script&gt;”." in text
    assert "No unit answers this." in text


def test_an_empty_register_says_what_to_do(signed_in):
    user = person(DepotFactory(), Membership.Role.MANAGER)
    text = signed_in(user).get(BOARD).content.decode()
    assert "No turbocharger is on record at your depots yet." in text
    assert reverse("fleet:register") in text


def test_a_stranger_is_asked_to_sign_in(signed_in):
    answer = signed_in(None).get(BOARD)
    assert answer.status_code == 302
    assert answer["Location"].startswith(reverse("login"))


def test_only_reading_is_offered(signed_in):
    assert signed_in(make_bay().manager).post(BOARD).status_code == 405


@pytest.mark.parametrize("asked", ASKED)
def test_dated_and_undated_units_cost_twelve_queries(asked, checked, signed_in, django_assert_max_num_queries):
    """The session and the reader are among them."""
    bay = make_bay()
    checked(bay)
    undated = TurbochargerFactory(depot=bay.depot)
    client = signed_in(bay.viewer)
    with django_assert_max_num_queries(12):
        page = client.get(f"{BOARD}{asked}").content.decode()
    assert undated.serial in page


@pytest.mark.parametrize("address", ["reports:board", "reports:due"])
@pytest.mark.parametrize(("who", "offered"), [("viewer", False), ("technician", True), ("manager", True)])
def test_a_check_is_offered_to_those_alone_who_may_make_one(signed_in, address, who, offered):
    text = signed_in(getattr(make_bay(), who)).get(reverse(address)).content.decode()
    assert (f'href="{reverse("checks:find")}"' in text) == offered
