"""Lives in words: digits, shapes, comparisons."""

import pytest

from checks.models.forecast import Basis
from reports.charts.life import Group, Reach
from reports.selectors.life import Compared
from reports.sentences.life import compared_sentence, limits_text, reach_text, shape_sentence, usage_text, why_not

pytestmark = pytest.mark.django_db


def group(name="new", *, events=12, b10=None, reason="", beta=(1.0, 0.8, 1.3)):
    return Group(
        kind="origin", key=name, name=name, model="M", lives=40, events=events, late=0, longest=90_000.0,
        reason=reason, eta=1.0, beta=beta[0], beta_limits=beta[1:], reaches=(b10,) if b10 else (), steps=(),
        followed=(),
    )  # fmt: skip


REACH = Reach(0.1, 84_400.0, 61_200.0, 109_300.0)


@pytest.mark.parametrize(
    ("reach", "basis", "unit", "said"),
    [
        (REACH, Basis.KM, "km", "84,000 km (61,000 to 109,000 km)"),
        (REACH, Basis.KM, "mi", "52,000 mi (38,000 to 68,000 mi)"),
        (Reach(0.1, 1688.0, 1224.0, 2186.0), Basis.HOURS, "mi", "1,690 h (1,220 to 2,200 h)"),
        (Reach(0.1, 9_420.0, 0.0, None), Basis.KM, "km", "9,400 km (0 km or more, no upper limit)"),
    ],
)
def test_limits_are_said_with_the_digits_that_a_life_can_bear(reach, basis, unit, said):
    assert reach_text(reach, basis, unit) == said
    assert limits_text(reach, basis, unit) in said


def test_use_is_rounded_by_its_size():
    assert [usage_text(x, Basis.KM, "km") for x in (123_456.0, 12_345.0, 1_234.0)] == [
        "123,000 km", "12,300 km", "1,230 km"
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("beta", "said"),
    [
        ((0.6, 0.4, 0.9), "early rather than late"),
        ((2.0, 1.4, 2.9), "the longer they run"),
        ((1.2, 0.8, 1.8), "cannot"),
    ],
)
def test_the_shape_is_read_only_as_far_as_its_limits_go(beta, said):
    assert said in shape_sentence(group(b10=REACH, beta=beta))


def test_without_b10_nothing_is_said_of_the_shape():
    assert shape_sentence(group(reason="too few", events=3)) == ""
    assert why_not(group(reason="too few", events=3)) == "too few: 3 events"
    assert why_not(group(reason="too few", events=1)) == "too few: 1 event"


def compared(p, **changes):
    plain = {"kind": "origin", "named": ("new", "reconditioned"), "whole": True, "statistic": 1.0, "dof": 2}
    return Compared(**(plain | {"p": p, "p_scores": None} | changes))


def test_a_comparison_says_how_often_chance_does_as_much():
    pair = (group("new", b10=REACH), group("reconditioned", b10=Reach(0.1, 30_000.0, 20_000.0, 40_000.0)))
    said = compared_sentence(compared(0.34), pair, "origin")
    assert said == (
        "Between new and reconditioned no difference can be told: chance alone sets them so far apart in 34 of 100 "
        "cases."
    )
    assert "3 of 1,000 cases" in compared_sentence(compared(0.003), pair, "origin")
    assert "fewer than 1 of 1,000" in compared_sentence(compared(1e-9), pair, "origin")
    hidden = compared_sentence(compared(0.003, kind="depot", whole=False, named=("Here",)), pair[:1], "depot")
    assert hidden.startswith("Depots, some of which you do not see, differ")
    assert "first to leave" not in hidden


def test_groups_that_cannot_be_compared_say_why():
    pair = (group("new", b10=REACH), group("reconditioned", reason="too few", events=2))
    assert compared_sentence(None, pair, "origin") == (
        "Whether new and reconditioned units differ cannot be told: too few were seen outside (reconditioned)."
    )
    assert compared_sentence(None, pair[:1], "origin") == ""
