"""Units in = units out: whatever is typed, in whatever unit, comes back as typed and worth the same."""

from fractions import Fraction

import pytest
from django.http import QueryDict
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from checks.models import SpecificationRevision
from checks.pages.numbers import fact
from checks.pages.specification_forms import SpecificationForm
from checks.pages.specification_values import values_of
from checks.services.specification import add_specification, correct_specification
from fleet.models import TurbochargerModel, User
from tests.checks.registers.conftest import COMMON
from tests.checks.registers.pages.posting import posted

# Exact ratios of NIST SP 811 (2008) appendix B.8: 1 in = 25.4 mm; 1 psi = 4.4482216152605 N / (25.4 mm)².
KPA = {"kPa": Fraction(1), "bar": Fraction(100), "psi": Fraction("4.4482216152605") / Fraction("25.4") ** 2 * 1000}
MM = {"mm": Fraction(1), "in": Fraction("25.4"), "thou": Fraction("0.0254")}


@st.composite
def windows(draw):
    """Lower limit, nominal, upper limit as typed texts in one unit, rising and within 100 mm."""
    unit = draw(st.sampled_from(list(MM)))
    places = 1 if unit == "thou" else 4
    top = int(Fraction(100) / MM[unit] * 10**places)
    marks = sorted(draw(st.lists(st.integers(1, top), min_size=3, max_size=3, unique=True)))
    return [[f"{mark / 10**places:.{places}f}", unit] for mark in marks]


@st.composite
def settings_and_maxima(draw):
    """Setting and canister maximum as typed, each in its own unit."""
    pressures = st.decimals(min_value="1", max_value="100", places=2)
    low, high = draw(st.sampled_from(list(KPA))), draw(st.sampled_from(list(KPA)))
    setting = draw(pressures)
    share = Fraction(setting) * KPA[low]
    more = draw(st.integers(1, 100))
    maximum = round(float(share * (100 + more) / 100 / KPA[high]) + 0.01, 3)
    return [[str(setting), low], [f"{maximum:.3f}", high]]


@pytest.mark.django_db
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(window=windows(), pressures=settings_and_maxima())
def test_what_is_typed_is_kept_shown_and_worth_the_same(window, pressures, manager, pneumatic):
    if float(Fraction(pressures[1][0]) * KPA[pressures[1][1]]) > 2000:
        return
    SpecificationRevision.objects.all().delete()
    entry = COMMON | {
        "setting": pressures[0],
        "stimulus_max": pressures[1],
        "lower_mm": window[0],
        "nominal_mm": window[1],
        "upper_mm": window[2],
        "zero_tolerance_stimulus": ["0.1", "kPa"],
        "zero_tolerance_mm": ["0.0001", "mm"],  # below the narrowest window that is drawn
        "confirmed": True,
    }
    row = add_specification(author=manager, turbocharger_model=pneumatic, entry=entry)
    row.refresh_from_db()
    typed = {"setting": pressures[0], "stimulus_max": pressures[1]} | dict(
        zip(("lower_mm", "nominal_mm", "upper_mm"), window, strict=True)
    )
    for name, (text, unit) in typed.items():
        exact = Fraction(text) * (KPA | MM)[unit]
        assert getattr(row, name) == pytest.approx(float(exact), rel=4e-16)
        assert row.typed[name] == [text, unit]
        reader = User(pressure_unit=unit if unit in KPA else "kPa", length_unit=unit if unit in MM else "mm")
        assert fact(row, name, "kPa" if unit in KPA else "mm", reader).value == f"{text} {unit}"
    before = {name: getattr(row, name) for name in typed}
    again = correct_specification(author=manager, specification=row, entry=_sent_back(row) | {"confirmed": True})
    assert {name: getattr(again, name) for name in typed} == before


def _sent_back(row):
    """The entry that the page's own form sends when nobody touches it."""
    initial = values_of(row)
    form = SpecificationForm(turbocharger_model=row.turbocharger_model, initial=initial)
    shown = {}
    for name in form.fields:
        value = initial.get(name)
        shown[name] = [value["text"], value["unit"]] if isinstance(value, dict) else "" if value is None else str(value)
    shown["thread_pitch_mm"] = shown["thread_pitch_mm"] or ["", "mm"]
    data = QueryDict(mutable=True)
    data.update(posted(shown))
    return SpecificationForm(data, turbocharger_model=row.turbocharger_model).entry


@pytest.mark.django_db
def test_a_row_that_was_loaded_without_what_was_typed_reads_the_same_after_correction(manager):
    model = TurbochargerModel.objects.create(name="Plain", stimulus="pneumatic")
    row = add_specification(author=manager, turbocharger_model=model, entry=COMMON)
    SpecificationRevision.objects.filter(pk=row.pk).update(typed={})
    row.refresh_from_db()
    before = (row.setting, row.upper_mm, row.thread_pitch_mm, row.capture_tolerance)
    again = correct_specification(author=manager, specification=row, entry=_sent_back(row))
    assert (again.setting, again.upper_mm, again.thread_pitch_mm, again.capture_tolerance) == before
