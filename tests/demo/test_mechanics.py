"""An actuator of the simulation moves as actuators do (common practice, no source)."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.management.demo.cast import MODELS, ModelSheet
from fleet.management.demo.fleet import sheet_of
from fleet.management.demo.mechanics import Actuator

models = pytest.mark.parametrize("model", MODELS, ids=lambda model: model.code)


def actuator(model: ModelSheet, travel_mm: float, **truth: float) -> Actuator:
    return Actuator(model.mechanism, sheet_of(model.specifications[-1]).setting, travel_mm, **truth)


@settings(deadline=None)  # the first call builds the table of units
@given(share=st.floats(0.2, 2.0), index=st.integers(0, len(MODELS) - 1))
def test_a_rise_to_the_setting_gives_the_travel_that_was_set(share: float, index: int):
    model = MODELS[index]
    sheet = sheet_of(model.specifications[-1])
    wanted = share * sheet.nominal_mm
    assert actuator(model, wanted).move_to(sheet.setting) == pytest.approx(wanted, abs=1e-9)


@models
def test_travel_rises_with_the_stimulus_slowly_at_first_and_then_steeply(model: ModelSheet):
    sheet = sheet_of(model.specifications[-1])
    one = actuator(model, sheet.nominal_mm)
    rise = [one.move_to(p) for p in np.linspace(0.0, sheet.setting, 200)]
    steps = np.diff(rise)
    assert (steps >= 0.0).all()
    assert rise[1] < 0.02
    assert np.mean(steps[-20:]) > 1.05 * np.mean(steps[-90:-70]) > 0.0


@models
def test_friction_holds_the_rod_out_on_the_fall(model: ModelSheet):
    sheet = sheet_of(model.specifications[-1])
    one = actuator(model, sheet.nominal_mm)
    shares = (0.75, 0.85, 0.95)
    rise = [one.move_to(share * sheet.setting) for share in shares]
    one.move_to(sheet.setting)
    fall = [one.move_to(share * sheet.setting) for share in reversed(shares)]
    assert all(down > up for down, up in zip(reversed(fall), rise, strict=True))


@models
def test_an_overshoot_leaves_the_reading_high(model: ModelSheet):
    sheet = sheet_of(model.specifications[-1])
    one = actuator(model, sheet.nominal_mm)
    one.move_to(1.04 * sheet.setting)
    assert one.move_to(sheet.setting) > 1.005 * sheet.nominal_mm


@models
def test_the_slope_is_the_derivative_of_the_travel(model: ModelSheet):
    sheet = sheet_of(model.specifications[-1])
    one, width = actuator(model, sheet.nominal_mm), 1e-3 * sheet.setting
    low, high = one.move_to(sheet.setting - width), one.move_to(sheet.setting + width)
    assert model.mechanism.slope(sheet.nominal_mm) == pytest.approx((high - low) / (2 * width), rel=1e-3)


def test_a_sticking_rod_moves_in_jumps():
    sheet = sheet_of(MODELS[0].specifications[-1])
    path = np.linspace(0.6 * sheet.setting, sheet.setting, 120)
    smooth, sticking = actuator(MODELS[0], sheet.nominal_mm), actuator(MODELS[0], sheet.nominal_mm, stick=9.0)
    steps = [np.diff([one.move_to(p) for p in path]) for one in (smooth, sticking)]
    assert steps[1].max() > 5 * steps[0].max()
    assert (steps[1] == 0.0).sum() > 100
