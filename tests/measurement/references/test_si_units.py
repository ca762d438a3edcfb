"""Units against NIST SP 811 (2008), appendix B.8, and the 1959 yard-pound agreement (exact by definition)."""

from fractions import Fraction

import pytest

from checks.measurement.units import convert

POUND, GRAVITY, INCH = Fraction("0.45359237"), Fraction("9.80665"), Fraction("0.0254")


def test_psi_is_a_pound_force_per_square_inch():
    """Exact ratio from the exact definitions; SP 811 prints 6.894 757 E+03 Pa."""
    exact = POUND * GRAVITY / INCH**2 / 1000
    assert convert(1.0, "psi", "kPa") == pytest.approx(float(exact), rel=1e-15)
    assert f"{convert(1.0, 'psi', 'kPa'):.6f}" == "6.894757"


@pytest.mark.parametrize(
    ("psi", "kpa", "bar"),
    [
        (15, 103.42136, 1.0342136),
        (20, 137.89515, 1.3789515),
        (25, 172.36893, 1.7236893),
        (30, 206.84272, 2.0684272),
        (35, 241.31651, 2.4131651),
        (40, 275.79029, 2.7579029),
    ],
)
def test_the_pressure_table(psi, kpa, bar):
    """Computed from the exact definitions (reference values, status C)."""
    assert convert(psi, "psi", "kPa") == pytest.approx(kpa, abs=5e-6)
    assert convert(psi, "psi", "bar") == pytest.approx(bar, abs=5e-8)


@pytest.mark.parametrize(
    ("value", "unit", "kept", "expected"),
    [
        (1.0, "in", "mm", 25.4),
        (1.0, "thou", "mm", 0.0254),
        (1.0, "bar", "kPa", 100.0),
        (1.0, "mi", "km", 1.609344),
        (1.0, "mV", "V", 0.001),
        (2.5, "min", "s", 150.0),
        (59.5, "thou", "mm", 1.5113),
        (0.0595, "in", "mm", 1.5113),
    ],
)
def test_ratios_that_are_exact_decimals_come_out_exact(value, unit, kept, expected):
    """NIST SP 811, appendix B.8: exact factors."""
    assert convert(value, unit, kept) == pytest.approx(expected, rel=2e-16)
