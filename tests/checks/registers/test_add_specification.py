"""Adding a specification: what was typed becomes exact values."""

import pytest

from tests.checks.registers.added_specification import add

pytestmark = pytest.mark.django_db


def test_values_typed_in_psi_and_inches_are_stored_exactly_in_kpa_and_mm(manager, pneumatic):
    """NIST SP 811 (2008) appendix B.8: 1 in = 25.4 mm, 1 psi = 6.894757293168361 kPa (both exact by definition)."""
    row = add(manager, pneumatic)
    row.refresh_from_db()
    assert row.setting == pytest.approx(31 * 6.894757293168361, rel=1e-15)
    assert row.stimulus_max == pytest.approx(43 * 6.894757293168361, rel=1e-15)
    assert row.lower_mm == pytest.approx(0.9652, rel=1e-15)
    assert row.nominal_mm == pytest.approx(1.4986, rel=1e-15)
    assert row.upper_mm == pytest.approx(2.032, rel=1e-15)
    assert row.zero_tolerance_mm == pytest.approx(0.0254, rel=1e-15)


def test_what_was_typed_is_kept(manager, pneumatic):
    row = add(manager, pneumatic)
    row.refresh_from_db()
    assert row.typed["setting"] == ["31", "psi"]
    assert row.typed["upper_mm"] == ["0.080", "in"]
    assert row.typed["capture_tolerance"] == ["1", "% of setting"]


def test_a_capture_tolerance_in_per_cent_is_a_share_of_the_setting(manager, pneumatic):
    row = add(manager, pneumatic)
    assert row.capture_tolerance == pytest.approx(0.01 * row.setting, rel=1e-15)


def test_a_pitch_in_threads_per_inch_is_exact(manager, pneumatic):
    """ASME B1.1: 28 threads per inch are 25.4/28 mm (pitch = 1/n exactly)."""
    assert add(manager, pneumatic).thread_pitch_mm == pytest.approx(25.4 / 28, rel=1e-15)


@pytest.mark.parametrize(
    ("thread", "pitch"), [("M6", 1.0), ("M8", 1.25), ("10-32 UNF", 0.79375), ("5/16-24 UNF", 25.4 / 24)]
)
def test_a_common_thread_stands_for_its_pitch(manager, pneumatic, thread, pitch):
    """ISO 261 and ASME B1.1, from memory; a pitch in threads per inch is exact."""
    row = add(manager, pneumatic, thread=thread, thread_pitch_mm=["", "mm"])
    assert row.thread_pitch_mm == pytest.approx(pitch, rel=1e-15)


def test_a_pitch_may_stay_unknown(manager, pneumatic):
    assert add(manager, pneumatic, thread_pitch_mm=["", "mm"]).thread_pitch_mm is None


def test_an_electric_actuator_is_specified_in_per_cent(manager, electric):
    row = add(
        manager,
        electric,
        setting=["60", "%"],
        stimulus_max=["100", "%"],
        zero_tolerance_stimulus=["0,5", "%"],
    )
    assert (row.setting, row.stimulus_max, row.zero_tolerance_stimulus) == (60, 100, 0.5)
    assert row.capture_tolerance == pytest.approx(0.6)


def test_a_decimal_comma_is_read(manager, pneumatic):
    assert add(manager, pneumatic, setting=["31,5", "psi"]).setting == pytest.approx(31.5 * 6.894757293168361)


def test_the_author_is_in_the_record_of_changes(manager, pneumatic):
    row = add(manager, pneumatic)
    assert row.made_by == manager
    assert row.history.get().history_user == manager
