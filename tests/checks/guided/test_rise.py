"""The rise: what is said at the moment it matters, and readings that can be put right."""

import pytest

from tests.walk import Walk

pytestmark = pytest.mark.django_db


@pytest.fixture
def rising(walk: Walk) -> Walk:
    walk.to_the_rise()
    return walk


def watch(walk: Walk) -> str:
    return walk.look("rise").context["watch"].level


def test_near_the_setting_it_says_go_slowly(rising: Walk) -> None:
    rising.add("22", "0")
    assert watch(rising) == "calm"
    rising.add("30", "52")
    page = rising.look("rise")
    assert page.context["watch"].level == "slow"
    assert "6.9 kPa below the setting" in page.context["watch"].sentence


def test_an_overshoot_asks_to_vent_and_rise_again(rising: Walk) -> None:
    rising.add("30", "52")
    rising.add("32", "66")
    page = rising.look("rise")
    assert page.context["watch"].level == "again"
    assert "friction now holds the rod out" in page.context["watch"].sentence
    assert "start the rise again" in page.content.decode()


def test_a_reading_above_the_setting_is_kept_as_the_overshoot_it_is(rising: Walk) -> None:
    rising.add("32", "66", action="setting")
    assert [row["phase"] for row in rising.listed()] == ["rise"]
    assert watch(rising) == "again"


def test_after_the_vent_a_good_rise_counts(rising: Walk) -> None:
    rising.add("32", "66")
    rising.add("0", "0", action="vent")
    assert watch(rising) == "calm"
    rising.rise("59.5")
    assert rising.look("verdict").context["verdict"].state == "inside"


def test_pressure_that_falls_back_asks_to_rise_again(rising: Walk) -> None:
    rising.add("28", "35")
    rising.add("26", "30")
    assert "fell back" in rising.look("rise").context["watch"].sentence


def test_the_reading_at_the_setting_is_refused_below_it(rising: Walk) -> None:
    answer = rising.add("30", "52", action="setting")
    assert answer.status_code == 400
    assert "30 psi is below the setting" in answer.content.decode()
    assert rising.listed() == []


def test_the_rise_is_not_over_without_the_reading_at_the_setting(rising: Walk) -> None:
    rising.add("30", "52")
    answer = rising.send("rise", action="next")
    assert answer.status_code == 400
    assert rising.look("verdict").url.endswith("/rise/")


def test_above_the_maximum_it_says_stop(rising: Walk) -> None:
    rising.add("44", "70")
    page = rising.look("rise")
    assert page.context["watch"].level == "stop"
    assert "maximum is 296.5 kPa" in page.content.decode()


def test_a_stroke_above_the_maximum_ends_void_and_flags_the_unit(rising: Walk) -> None:
    rising.add("44", "70")
    assert rising.send("rise", action="stop").url.endswith("/verdict/")
    verdict = rising.look("verdict").context["verdict"]
    assert verdict.state == "void"
    assert verdict.unsafe
    rising.send("verdict", decision="leave")
    rising.sign()
    rising.bay.turbocharger.refresh_from_db()
    assert rising.bay.turbocharger.safety_flag


def test_a_highest_pressure_above_the_maximum_is_told_while_exercising(walk: Walk) -> None:
    walk.to_the_stroke()
    walk.pair("zero", "0", "0")
    assert walk.exercise(highest="44").url.endswith("/exercise/")
    assert walk.look("exercise").context["stop"] is not None
    assert walk.exercise(highest="34").url.endswith("/zero-return/")


def test_cycles_that_leave_the_rod_at_rest_are_told_at_once(walk: Walk) -> None:
    walk.to_the_stroke()
    walk.pair("zero", "0", "0")
    assert walk.exercise(highest="5").url.endswith("/exercise/")
    assert "0 of 3 times; a cycle counts from 106.87 kPa" in walk.look("exercise").context["short"]
    assert walk.exercise(highest="34").url.endswith("/zero-return/")


def test_a_setting_out_of_reach_ends_in_a_void_verdict(rising: Walk) -> None:
    rising.add("20", "0")
    assert rising.send("rise", action="stop").url.endswith("/verdict/")
    assert rising.look("verdict").context["verdict"].state == "void"


def test_a_reading_is_corrected_in_its_place(rising: Walk) -> None:
    rising.add("22", "0")
    rising.add("24", "80")
    shown = rising.look("rise", place=1)
    assert 'value="80"' in shown.content.decode()
    rising.pair("rise", "24", "8", action="correct", place=1, count=2, phase="rise")
    assert [row["travel"]["text"] for row in rising.listed()] == ["0", "8"]


def test_a_wrong_correction_changes_nothing(rising: Walk) -> None:
    rising.add("22", "0")
    answer = rising.pair("rise", "zz", "3", action="correct", place=0, count=1, phase="rise")
    assert answer.status_code == 400
    assert answer.context["correcting"] == 0
    assert rising.listed()[0]["stimulus"]["text"] == "22"


def test_a_reading_is_deleted_once_however_often_it_is_pressed(rising: Walk) -> None:
    for psi in ("22", "24", "26"):
        rising.add(psi, "1")
    for _ in range(2):
        rising.send("rise", action="delete", place=1, count=3)
    assert [row["stimulus"]["text"] for row in rising.listed()] == ["22", "26"]


def test_a_dial_that_does_not_come_home_is_told_before_the_rise(walk: Walk) -> None:
    walk.to_the_stroke()
    walk.pair("zero", "0", "0")
    walk.exercise()
    assert walk.pair("zero-return", "0", "3").url.endswith("/zero-return/")
    assert walk.look("zero-return").context["not_back"]
    assert walk.pair("zero-return", "0", "3").url.endswith("/rise/")
    assert walk.pair("zero-return", "0", "0.2").url.endswith("/rise/")
    assert walk.look("zero-return").context["not_back"] == []


def test_the_plot_says_in_words_what_it_shows(rising: Walk) -> None:
    rising.add("22", "0")
    rising.add("30", "52")
    plot = rising.look("rise").context["plot"]
    assert plot.sentence.startswith("2 readings, the last one rising at 206.8 kPa and 1.3")
    assert len(plot.marks) == 2
    assert plot.rise_path.startswith("M")
    assert plot.setting_x < plot.maximum_x
