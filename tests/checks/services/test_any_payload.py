"""Whatever is sent is recorded or refused with a sentence; nothing crashes and nothing is half stored."""

import math
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from checks.models import Assessment, Check, Reading, Stroke
from checks.services.check import record_check
from fleet.problems import FleetError
from tests.bay import Bay, make_bay

pytestmark = pytest.mark.django_db

odd = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.floats(),
    st.text(max_size=30),
    st.sampled_from(["31", "0,0595", "-0", "1e9", "NaN", "\x00", "９", "psi", "thou", "2025-03-04T09:30:00+00:00"]),
    st.lists(st.none(), max_size=2),
    st.dictionaries(st.sampled_from(["text", "unit", "phase", "readings"]), st.text(max_size=5), max_size=3),
)


def places(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Every place in a payload, however deep."""
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [*([path] if path else []), *(found for key, one in inner for found in places(one, (*path, key)))]


def put(payload: Any, path: tuple[Any, ...], value: Any) -> None:
    for key in path[:-1]:
        payload = payload[key]
    payload[path[-1]] = value


@pytest.fixture
def bay() -> Bay:
    return make_bay()


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_one_odd_value_anywhere_is_recorded_or_refused(bay, data):
    payload = bay.submission()
    path = data.draw(st.sampled_from(places(payload)))
    put(payload, path, data.draw(odd))
    before = (Check.objects.count(), Reading.objects.count())
    try:
        check = record_check(user=bay.technician, submission=payload)
    except FleetError as refusal:
        assert len(refusal.sentence) > 15
        assert (Check.objects.count(), Reading.objects.count()) == before
    else:
        verdict = Assessment.objects.get(stroke__check_made=check, is_current=True)
        assert verdict.state in Assessment.State.values
        assert verdict.p_inside is None or math.isfinite(verdict.p_inside)
        assert Stroke.objects.filter(check_made=check).count() == 1
