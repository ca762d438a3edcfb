"""The round of the bench units: what was planted in a depot's hands comes out of its study."""

from math import cos, radians

import numpy as np
import pytest

from checks.models import Assessment, Publication, Study, StudyReading
from checks.pages.study_depots import comparison_sentence
from checks.selectors.study import told_of
from checks.selectors.study_depots import rounds
from fleet.management.demo import studies
from fleet.management.demo.cast import BRAE_TILT_DEG, PEOPLE
from fleet.management.demo.events import History
from fleet.management.demo.instruments import Instrument
from fleet.management.demo.toolroom import INSTRUMENTS
from fleet.management.demo.truth import truth_of
from fleet.models import User

pytestmark = pytest.mark.django_db


def person(name: str) -> User:
    return User.objects.get(username=name)


def study_at(depot: str) -> Study:
    return Study.objects.select_related("specification").get(depot__code=depot)


def test_every_depot_read_every_unit(loaded: History):
    assert Study.objects.count() == 3
    assert not StudyReading.objects.filter(travel_mm=None).exists()
    assert StudyReading.objects.count() == 3 * len(studies.UNITS) * 2 * studies.TRIALS


def test_the_odd_depot_stands_out_by_the_lean_of_its_dial_and_no_other_does(loaded: History):
    """A plunger leaning by an angle over-reads by 1/cos of it; limits of 95 % hold that."""
    (found,) = rounds(person("lune"))
    assert [mean.name for mean in found.comparison.odd] == ["Brae End"]
    true = np.mean(list(studies.true_travels().values()))
    planted = true * (1.0 / cos(radians(BRAE_TILT_DEG)) - 1.0)
    odd = found.comparison.odd[0]
    assert odd.low_mm < planted < odd.high_mm
    sentence = comparison_sentence(found, "mm")
    assert sentence.startswith("Brae End reads 0.1")
    assert "more than Quarry Fork and Saltmarsh on the same 10 units" in sentence


@pytest.mark.parametrize("stop", studies.STOPS, ids=lambda stop: stop.depot)
def test_what_a_hand_scatters_by_is_what_its_study_finds(loaded: History, stop: studies.Stop):
    """Set-up, the dial's own 0.004 mm, lean and rounding; 40 degrees of freedom know a spread to 0.36 at 99.9 %."""
    hands = [one.hand for one in PEOPLE if one.hand and one.depots == (stop.depot,)]
    dial: Instrument = next(tool for tool in INSTRUMENTS if tool.label == stop.dial)
    step = dial.to_base(dial.step)
    lean = 1.5 * np.tan(radians(hands[0].tilt_deg)) / cos(radians(hands[0].tilt_deg)) * radians(2.0) / np.sqrt(3)
    planted = np.sqrt(np.mean([hand.scatter_mm**2 for hand in hands]) + 0.004**2 + step**2 / 12 + lean**2)
    told = told_of(study_at(stop.depot))
    assert told.analysis.repeatability / planted == pytest.approx(1.0, abs=0.4)


def test_two_depots_go_by_their_study_and_the_odd_one_by_the_assumption(loaded: History):
    assert set(Publication.objects.values_list("depot__code", flat=True)) == {"SALT", "QUARRY"}
    counted = max(Publication.objects.values_list("counts_from", flat=True))
    later = Assessment.objects.filter(
        stroke__check_made__turbocharger__model__stimulus="pneumatic", stroke__check_made__made_at__gt=counted
    ).exclude(travel_mm=None)
    by_depot: dict[str, set[str]] = {}
    for row in later.select_related("stroke__check_made__depot"):
        line = next(line for line in row.result["budget"] if line["symbol"] == "w")
        by_depot.setdefault(row.stroke.check_made.depot.code, set()).add(line["source"].split(", held")[0])
    named = f"repeatability, study {studies.ROUND_NAME}"
    assert by_depot["SALT"] == by_depot["QUARRY"] == {named}
    assert by_depot["BRAE"] == {"repeatability, assumed"}


def test_the_units_true_travels_stand_in_the_truth(loaded: History):
    told = truth_of(loaded)["planted"]["round_of_bench_units"]["true_travel_mm"]
    for stop in studies.STOPS:
        study = told_of(study_at(stop.depot))
        means = study.table.values.mean(axis=(1, 2))
        high = 1.0 / cos(radians(BRAE_TILT_DEG)) if stop.depot == "BRAE" else 1.0
        for part, mean in zip(study.table.parts, means, strict=True):
            assert mean == pytest.approx(told[part.name] * high, abs=0.04)
