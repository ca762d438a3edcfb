"""Depots held against each other in words, and by what repeatability each goes."""

import re
from datetime import date

import numpy as np
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from checks.pages.study_depots import repeatability_lines, round_words
from checks.selectors.study_depots import round_of, rounds
from checks.services.study_publication import publish_study, withdraw_publication
from fleet.models import Membership
from tests.bay import make_bay
from tests.factories import MembershipFactory, UserFactory
from tests.studies import scattered, study_of

pytestmark = pytest.mark.django_db
TRUE = np.random.default_rng(1).normal(1.5, 0.15, 8)


def bays(number: int, *, user=None):
    """Depots with the same turbocharger model, and somebody who sees them all."""
    first = make_bay()
    made = [first, *(make_bay() for _ in range(number - 1))]
    for bay in made[1:]:
        bay.specification = first.specification
    user = user or UserFactory(length_unit="mm")
    for bay in made:
        MembershipFactory(user=user, depot=bay.depot, role=Membership.Role.VIEWER)
    return made, user


def read(bay, offset: float, seed: int, **more):
    return study_of(bay, scattered(seed=seed, shape=(8, 3, 2), technician=0.005, parts=TRUE + offset), **more)


def test_a_depot_that_reads_high_is_named_with_its_limits():
    made, user = bays(3)
    for seed, (bay, offset) in enumerate(zip(made, (0.0, 0.1, 0.0), strict=True)):
        read(bay, offset, seed)
    (found,) = rounds(user)
    odd = found.comparison.odd
    assert [mean.name for mean in odd] == [str(made[1].depot)]
    assert odd[0].low_mm < 0.1 < odd[0].high_mm
    words = round_words(found, user)
    others = f"{made[0].depot} and {made[2].depot}"
    assert re.match(rf"{made[1].depot} reads 0\.[01]\d\d mm \(6\.\d %\) more than {others} on", words["sentence"])
    assert "% of the window" in words["sentence"]
    assert {line.word for line in words["lines"]} == {"agrees", "stands out"}


def test_depots_that_agree_are_said_to_with_what_is_ruled_out():
    made, user = bays(3)
    for seed, bay in enumerate(made):
        read(bay, 0.0, seed)
    (found,) = rounds(user)
    assert round_words(found, user)["sentence"].startswith("No depot stands out: ")


def test_of_two_that_differ_a_third_is_asked_for():
    made, user = bays(2)
    for seed, (bay, offset) in enumerate(zip(made, (0.2, 0.0), strict=True)):
        read(bay, offset, seed)
    sentence = round_words(rounds(user)[0], user)["sentence"]
    assert sentence.startswith(f"{made[0].depot} reads 0.")
    assert "have a third read the units" in sentence


def test_only_units_that_all_have_read_are_compared_whatever_their_order():
    made, user = bays(2)
    names = [f"Unit {letter}" for letter in "ABCDEFGH"]
    values = scattered(seed=4, shape=(8, 2, 2), parts=TRUE)
    study_of(made[0], values, parts=names)
    study_of(made[1], values[::-1][:5] + 0.3, parts=[name.upper() for name in names[::-1][:5]])
    (found,) = rounds(user)
    assert len(found.parts) == 5
    differences = {mean.name: mean.difference_mm for mean in found.comparison.depots}
    assert differences == pytest.approx({str(made[0].depot): -0.3, str(made[1].depot): 0.3})


def test_other_units_are_not_compared_and_it_says_so():
    made, user = bays(2)
    read(made[0], 0.0, 1)
    read(made[1], 0.0, 2, parts=[f"Our unit {n}" for n in range(8)])
    (found,) = rounds(user)
    assert found.comparison is None
    words = round_words(found, user)
    assert "Send the same ones round" in words["sentence"]
    assert words["left_out"]


def test_the_newest_whole_study_of_a_depot_counts_and_an_unread_one_does_not():
    made, user = bays(3)
    for seed, bay in enumerate(made):
        read(bay, 0.0, seed)
    newest = read(made[0], 0.15, 9, name="Later", planned_for=date(2025, 6, 2))
    unread = read(made[1], 0.3, 10, name="Under way", planned_for=date(2025, 7, 7))
    reading = unread.readings.first()
    reading.travel_mm = reading.entered_by = reading.entered_at = None
    reading.typed = reading.unit = ""
    reading.save()
    (found,) = rounds(user)
    assert newest in found.studies
    assert unread not in found.studies
    assert [mean.name for mean in found.comparison.odd] == [str(made[0].depot)]
    assert round_of(user, unread) is None
    assert newest in round_of(user, newest).studies


def test_somebody_of_one_depot_sees_no_other_in_it():
    made, _ = bays(2)
    studies = [read(bay, 0.0, seed) for seed, bay in enumerate(made)]
    assert rounds(made[0].viewer) == []
    assert round_of(made[0].viewer, studies[0]) is None


def test_what_a_comparison_costs_does_not_grow():
    def count(number: int) -> int:
        made, user = bays(number)
        for seed, bay in enumerate(made):
            read(bay, 0.0, seed)
        with CaptureQueriesContext(connection) as queries:
            rounds(user)
        return len(queries)

    assert count(2) == count(4) <= 5


def test_the_policy_page_says_by_what_repeatability_each_depot_goes(client):
    made, user = bays(2)
    publication = publish_study(study=read(made[0], 0.0, 1), user=made[0].manager, reason="First study.")
    lines = {line["depot"]: line for line in repeatability_lines(user)}
    assert lines[str(made[0].depot)]["name"] == "Spring round"
    assert lines[str(made[1].depot)]["study"] is None
    assert lines[str(made[1].depot)]["repeatability"] == "0.010 mm"
    client.force_login(user)
    page = client.get(reverse("checks:policy")).content.decode()
    assert "Spring round</a>, since" in page
    withdraw_publication(publication=publication, user=made[0].manager, reason="Parts were mixed up.")
    assert "Spring round</a>, since" not in client.get(reverse("checks:policy")).content.decode()


def test_the_comparison_stands_on_the_list_and_on_each_studys_page(client):
    made, user = bays(3)
    rows = [read(bay, offset, seed) for seed, (bay, offset) in enumerate(zip(made, (0.0, 0.1, 0.0), strict=True))]
    client.force_login(user)
    for address in (reverse("checks:studies"), reverse("reports:study", args=[rows[0].pk])):
        page = client.get(address).content.decode()
        assert f"{made[1].depot} reads 0." in page
        assert "stands out" in page
    client.force_login(made[0].viewer)
    assert "Depots compared" not in client.get(reverse("checks:studies")).content.decode()
