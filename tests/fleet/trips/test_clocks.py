"""Written times against pandas (a general library, with the IANA time zones) and against the standard library."""

from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pyarrow as pa
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from fleet.imports.trips.clocks import read_clock

# Zones whose clocks change at two, at midnight, by half an hour, and never.
ZONES = ("Europe/Berlin", "America/New_York", "America/Sao_Paulo", "Australia/Lord_Howe", "Asia/Kolkata", "UTC")
FORMS = {"iso": "%Y-%m-%d %H:%M:%S", "day_dots": "%d.%m.%Y %H:%M:%S", "month_slashes": "%m/%d/%Y %H:%M:%S"}
WALLS = st.lists(st.datetimes(datetime(2001, 1, 1), datetime(2030, 1, 1)).map(lambda at: at.replace(microsecond=0)))  # noqa: DTZ001


def read(texts, form="iso", zone="UTC"):
    return read_clock(pa.array(texts, pa.string()), form, zone)


@settings(max_examples=150, deadline=None)
@given(WALLS, st.sampled_from(ZONES), st.sampled_from(sorted(FORMS)))
@example([datetime(2025, 10, 26, 2, 30), datetime(2025, 3, 30, 2, 30)], "Europe/Berlin", "iso")  # noqa: DTZ001
@example([datetime(2018, 11, 4, 0, 30), datetime(2018, 2, 17, 23, 30)], "America/Sao_Paulo", "iso")  # noqa: DTZ001
def test_local_times_are_those_of_pandas(walls, zone, form):
    seconds, could, unclear = read([wall.strftime(FORMS[form]) for wall in walls], form, zone)
    there = pd.Series(walls, dtype="datetime64[s]").dt.tz_localize(zone, ambiguous="NaT", nonexistent="NaT")
    assert (unclear == there.isna().to_numpy()).all()
    assert (could == ~unclear).all()
    expected = there[could].dt.tz_convert("UTC").dt.tz_localize(None).to_numpy().astype("datetime64[s]").astype(int)
    assert np.array_equal(seconds[could], expected)


@given(st.lists(st.datetimes(datetime(1990, 1, 1), datetime(2090, 1, 1), timezones=st.timezones()), max_size=20))  # noqa: DTZ001
@settings(max_examples=100, deadline=None)
def test_offsets_are_read_as_the_standard_library_writes_them(moments):
    texts = [at.replace(microsecond=0).isoformat() for at in moments]
    whole = [text for text in texts if text.count(":") == 3]  # historic offsets may count seconds
    seconds, could, _ = read(whole, zone="written")
    assert could.all()
    assert seconds.tolist() == [int(datetime.fromisoformat(text).timestamp()) for text in whole]


@pytest.mark.parametrize(
    ("text", "form", "expected"),
    [
        ("2025-03-14T08:30Z", "iso", None),
        ("2025-03-14 8:30", "iso", "2025-03-14T08:30:00"),
        (" 2025-03-14 08:30:59.75 ", "iso", "2025-03-14T08:30:59"),
        ("2025-02-29 08:30", "iso", None),
        ("2024-02-29 08:30", "iso", "2024-02-29T08:30:00"),
        ("2025-13-01 08:30", "iso", None),
        ("2025-03-14 24:00", "iso", None),
        ("3/14/2025 2:05 PM", "month_slashes", "2025-03-14T14:05:00"),
        ("3/14/2025 12:05 am", "month_slashes", "2025-03-14T00:05:00"),
        ("3/14/2025 13:05 pm", "month_slashes", None),
        ("31.4.2025 08:30", "day_dots", None),
        ("30.4.2025, 08:30", "day_dots", "2025-04-30T08:30:00"),
        ("30/04/2025 08:30:07", "day_slashes", "2025-04-30T08:30:07"),
        ("", "iso", None),
        ("9999-12-31 23:59", "iso", "9999-12-31T23:59:00"),
    ],
)
def test_a_time_is_read_as_it_is_meant_or_not_at_all(text, form, expected):
    # Beside one that is read, so that the quick way is not the only one tried.
    seconds, could, _ = read([text, "x"], form)
    assert could.tolist() == [expected is not None, False]
    if expected:
        assert datetime.fromtimestamp(int(seconds[0]), UTC).replace(tzinfo=None).isoformat() == expected


def test_years_beyond_every_calendar_do_no_harm():
    assert read(["9999-12-31 23:59", "0001-01-01 00:00"], zone="Europe/Berlin")[1].all()
