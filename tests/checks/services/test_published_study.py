"""A published study feeds the verdicts of its depot from then on, and names itself where it does."""

from datetime import datetime, timedelta

import pytest
from django.urls import reverse

from checks.convert import to_specification
from checks.measurement.study import analyse
from checks.models import Assessment, Draft, Publication
from checks.selectors.grounds import grounds_for
from checks.selectors.published import publications
from checks.services.assessment import judge_checks
from checks.services.check import record_check
from checks.services.study_publication import publish_study, withdraw_publication
from checks.tablet.desk import Desk
from checks.tablet.marks import set_marks
from checks.tablet.preview import preview
from tests.bay import MADE_AT, Bay, make_bay
from tests.factories import TurbochargerModelFactory
from tests.studies import scattered, study_of

pytestmark = pytest.mark.django_db
AT = datetime.fromisoformat(MADE_AT)
BEFORE, AFTER = AT - timedelta(days=1), AT + timedelta(days=1)


def published(bay: Bay, *, at: datetime = BEFORE, name: str = "Spring round", **spread: float) -> Publication:
    study = study_of(bay, scattered(**spread), name=name)
    return publish_study(study=study, user=bay.manager, reason="First study of the depot.", at=at)


def recorded(bay: Bay, **changes: object) -> Assessment:
    check = record_check(user=bay.technician, submission=bay.submission(**changes))
    return Assessment.objects.get(stroke__check_made=check, is_current=True)


def lines(row: Assessment) -> dict[str, dict]:
    return {line["symbol"]: line for line in row.result["budget"]}


def test_a_check_after_the_publication_takes_the_studys_figures_with_their_degrees_of_freedom():
    bay = make_bay()
    publication = published(bay)
    found = analyse(scattered()).figures()
    row = recorded(bay)
    w, o = lines(row)["w"], lines(row)["o"]
    assert (w["standard_uncertainty"], w["dof"]) == (pytest.approx(found.repeatability_mm), found.repeatability_dof)
    assert (o["standard_uncertainty"], o["dof"]) == (pytest.approx(found.reproducibility_mm), found.reproducibility_dof)
    assert w["source"] == "repeatability, study Spring round"
    assert row.publication == publication


def test_a_check_before_the_publication_goes_by_the_assumption():
    bay = make_bay()
    published(bay, at=AFTER)
    row = recorded(bay)
    assert lines(row)["w"]["source"] == "repeatability, assumed"
    assert "o" not in lines(row)
    assert row.publication is None


def test_a_wider_spread_makes_a_wider_verdict():
    assumed, studied = make_bay(), make_bay()
    published(studied, repeat=0.05)
    assert recorded(studied).expanded_uncertainty_mm > 1.5 * recorded(assumed).expanded_uncertainty_mm


def test_verdicts_given_before_stay_and_judged_again_they_keep_what_counted_then():
    bay = make_bay()
    first = recorded(bay)
    published(bay, at=AFTER)
    assert Assessment.objects.get() == first
    check = first.stroke.check_made
    judge_checks(check_ids=[check.pk], basis="judged again")
    again = Assessment.objects.get(stroke__check_made=check, is_current=True)
    assert (again.publication, again.expanded_uncertainty_mm) == (None, first.expanded_uncertainty_mm)


def test_after_a_withdrawal_the_assumption_counts_again():
    bay = make_bay()
    publication = published(bay)
    withdraw_publication(publication=publication, user=bay.manager, reason="The gauge was knocked.", at=AT)
    assert recorded(bay).publication is None


def test_until_the_withdrawal_it_counted():
    bay = make_bay()
    publication = published(bay)
    withdraw_publication(publication=publication, user=bay.manager, reason="Too few parts.", at=AFTER)
    assert recorded(bay).publication == publication


def test_the_study_that_takes_anothers_place_counts_from_then_on():
    bay = make_bay()
    first, second = published(bay), published(bay, at=AFTER, name="Summer round", seed=8)
    known = publications(bay.specification.turbocharger_model.stimulus)
    found = [known.counting(bay.depot.pk, at) for at in (BEFORE - timedelta(1), AT, AFTER)]
    assert [one.pk if one else None for one in found] == [None, first.pk, second.pk]


def test_a_study_says_nothing_of_another_depot_nor_of_another_kind_of_actuator():
    bay, other = make_bay(), make_bay()
    published(other)
    electric = TurbochargerModelFactory(stimulus="electric")
    published(make_bay(model=electric, setting=45.0, stimulus_max=95.0))
    assert recorded(bay).publication is None
    assert publications("electric").counting(other.depot.pk, AT) is None


def test_before_it_is_signed_the_same_verdict_is_shown():
    bay = make_bay()
    published(bay)
    sent = bay.submission()
    draft = Draft.objects.create(turbocharger=bay.turbocharger, author=bay.technician, step="verdict", answers=sent)
    shown = preview(Desk(draft, bay.technician), "as_found")
    row = recorded(bay)
    assert shown.expanded_uncertainty_mm == row.expanded_uncertainty_mm
    assert "repeatability, study Spring round" in [line.source for line in shown.budget]


def test_the_tablets_limits_follow_from_publication_to_withdrawal():
    bay = make_bay()
    core = to_specification(bay.specification)

    def limits() -> tuple[float, float]:
        tools = (bay.dial, bay.gauge, None)
        marks = set_marks(core=core, grounds=grounds_for(bay.specification), tools=tools, on=AT.date())
        return marks["limits"]["flat_face"]["inside_from"], marks["limits"]["flat_face"]["outside_below"]

    assumed = limits()
    publication = published(bay, repeat=0.05)
    studied = limits()
    assert studied[0] > assumed[0] + 0.01
    assert studied[1] < assumed[1] - 0.01
    withdraw_publication(publication=publication, user=bay.manager, reason="Too few parts.")
    assert limits() == assumed


def test_the_budget_on_the_checks_page_names_the_study(client):
    bay = make_bay()
    published(bay)
    row = recorded(bay)
    client.force_login(bay.viewer)
    page = client.get(reverse("reports:check", args=[row.stroke.check_made_id])).content.decode()
    assert "repeatability, study Spring round" in page
    assert "reproducibility, study Spring round" in page
    assert "dial reading, held in the repeatability" in page


def test_programs_are_told_which_publication_a_verdict_rests_on(client):
    bay = make_bay()
    publication = published(bay)
    row = recorded(bay)
    client.force_login(bay.viewer)
    (told,) = client.get(reverse("api-assessments", args=[row.stroke.check_made_id])).json()["results"]
    assert told["publication"] == publication.pk
