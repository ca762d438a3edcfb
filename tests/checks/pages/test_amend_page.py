"""The pages that correct a signed check, judge a model again and take a safety flag down."""

import pytest
from django.urls import reverse

from checks.models import Amendment, Assessment
from checks.services.check import record_check
from fleet.models import Job
from tests.bay import make_bay, person, readings

pytestmark = pytest.mark.django_db


@pytest.fixture
def bay():
    return make_bay()


@pytest.fixture
def check(bay):
    return record_check(user=bay.technician, submission=bay.submission(travel="95"))


def address(check, field: str = "") -> str:
    return reverse("checks:amend", args=[check.pk]) + (f"?field={field}" if field else "")


def test_every_value_is_listed_with_its_way_to_amend_it(signed_in, bay, check, no_writes):
    client = signed_in(bay.technician)
    client.get(address(check))
    with no_writes():
        page = client.get(address(check)).content.decode()
    for text in (
        "212000 km",
        "5120.5 h",
        bay.dial.label,
        "95 thou",
        "Amend 11. at the setting: travel, 95 thou",
        "?field=as_found.10.travel",
    ):
        assert text in page


def test_a_value_is_amended_and_the_reader_sees_the_check(signed_in, bay, check):
    sent = {"new_value_text": "59.5", "new_value_unit": "thou", "why": "digits swapped"}
    answer = signed_in(bay.technician).post(address(check, "as_found.10.travel"), sent)
    assert (answer.status_code, answer["Location"]) == (302, reverse("reports:check", args=[check.pk]))
    assert Amendment.objects.get().reason == "digits swapped"
    page = signed_in(bay.manager).get(address(check)).content.decode()
    assert "digits swapped" in page
    assert "59.5 thou" in page


@pytest.mark.parametrize(
    ("sent", "sentence"),
    [
        ({"new_value_text": "fifty", "new_value_unit": "thou", "why": "typed wrongly"}, "is not a number"),
        ({"new_value_text": "59.5", "new_value_unit": "furlong", "why": "typed wrongly"}, "not accepted"),
        ({"new_value_text": "", "new_value_unit": "thou", "why": "typed wrongly"}, "Enter a number"),
        ({"new_value_text": "1e9", "new_value_unit": "mm", "why": "typed wrongly"}, "is not a number"),
        ({"new_value_text": "95", "new_value_unit": "thou", "why": "typed wrongly"}, "already says"),
        ({"new_value_text": "59.5", "new_value_unit": "thou", "why": ""}, "Say why"),
    ],
)
def test_wrong_input_says_what_to_do_and_keeps_what_was_typed(signed_in, bay, check, sent, sentence):
    answer = signed_in(bay.technician).post(address(check, "as_found.10.travel"), sent)
    page = answer.content.decode()
    assert answer.status_code in {400, 409}
    assert sentence in page
    assert f'value="{sent["new_value_text"]}"' in page or not sent["new_value_text"]
    assert not Amendment.objects.exists()


@pytest.mark.parametrize(
    "field",
    [
        "odometer",
        "engine_hours",
        "reason",
        "geometry",
        "dial",
        "meter",
        "angle_deg",
        "note",
        "half_turns",
        "as_found.1.stimulus",
    ],
)
def test_every_kind_of_value_has_its_form(signed_in, bay, check, field):
    assert signed_in(bay.technician).get(address(check, field)).status_code == 200


def test_who_may_amend(signed_in, bay, check):
    field = address(check, "note")
    allowed = {bay.technician: 200, bay.manager: 200, bay.viewer: 403, person(bay.depot, "technician"): 403}
    for user, status in (*allowed.items(), (make_bay().manager, 404)):
        assert signed_in(user).get(field).status_code == status
    assert signed_in(bay.viewer).post(field, {"new_value": "x", "why": "y"}).status_code == 403
    assert signed_in(None).get(field).status_code == 302
    assert not Amendment.objects.exists()


def test_an_unknown_value_is_not_found(signed_in, bay, check):
    assert signed_in(bay.manager).get(address(check, "technician")).status_code == 404


def test_a_manager_has_a_model_judged_again_and_sees_the_job(signed_in, bay, check):
    where = reverse("checks:rejudge", args=[bay.specification.pk])
    assert signed_in(bay.technician).post(where).status_code == 403
    answer = signed_in(bay.manager).post(where)
    assert answer["Location"] == reverse("jobs:job", args=[Job.objects.get(kind="re-judge").pk])
    assert signed_in(bay.manager).get(where).status_code == 405


def test_a_flag_comes_down_with_what_was_found(signed_in, bay):
    record_check(user=bay.technician, submission=bay.submission(as_found={"readings": readings("59", exercise="45")}))
    assert Assessment.objects.get().state == "void"
    where, client = reverse("checks:safety_flag", args=[bay.turbocharger.pk]), signed_in(bay.technician)
    assert "Take the flag down" in client.get(where).content.decode()
    assert client.post(where, {"found": " "}).status_code == 400
    assert client.post(where, {"found": "Canister holds."}).status_code == 302
    assert "carries no safety flag" in client.get(where).content.decode()
    assert signed_in(make_bay().technician).get(where).status_code == 404


def test_a_flagged_unit_leads_to_its_inspection(signed_in, bay):
    record_check(user=bay.technician, submission=bay.submission(as_found={"readings": readings("59", exercise="45")}))
    where, page = (
        reverse("checks:safety_flag", args=[bay.turbocharger.pk]),
        reverse("reports:unit", args=[bay.turbocharger.pk]),
    )
    assert where in signed_in(bay.technician).get(page).content.decode()
    assert where not in signed_in(bay.viewer).get(page).content.decode()
