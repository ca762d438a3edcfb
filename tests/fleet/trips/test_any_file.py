"""Whatever a file holds, each line is taken or refused, and no two trips that overlap are ever kept."""

import csv

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fleet.imports.trips.chunk import Known, read_chunk, refused_lines
from fleet.imports.trips.manner import Manner
from fleet.imports.trips.order import sort_out
from fleet.models import Trip
from fleet.selectors.trips import TRIP, key_of, trips_within

NAMES = ("truck", "start", "duration", "distance", "fuel")
KNOWN = Known({"T1": (1, -(1 << 40), 1 << 40), "7": (2, -(1 << 40), 1 << 40)}, {})
CELL = st.one_of(
    st.sampled_from(
        ["T1", "7", "2025-03-14 08:30", "3600", "80", "25", "", " ", "1e3", "nan", "inf", "-1", "0x1", "1,5", "True"]
    ),
    st.text(alphabet=st.characters(blacklist_characters="\n\r\0", blacklist_categories=("Cs",)), max_size=8),
)
LINE = st.one_of(
    st.lists(CELL, min_size=5, max_size=5).map(",".join),
    st.lists(CELL, max_size=7).map(",".join),
    st.sampled_from(["T1,2025-03-14 08:30,3600,80,25", '"T1","2025-03-14 09:30","3600","80","25"', ",,,,", '"', '""']),
)


@settings(max_examples=300, deadline=None)
@given(st.lists(LINE, max_size=30), st.sampled_from([",", ";"]), st.sampled_from([".", ","]), st.booleans())
def test_accepted_and_refused_lines_make_up_all_lines(lines, delimiter, decimal, ended) -> None:
    block = ("\n".join(lines) + ("\n" if ended else "")).encode()
    manner = Manner(delimiter, decimal, "UTC", "iso", {name: name for name in NAMES})
    chunk = read_chunk(block, 1, len(NAMES), {name: place for place, name in enumerate(NAMES)}, manner, KNOWN)
    # A line counts when it holds anything but blanks, as Python's own str.strip sees it in bytes.
    expected = [number for number, line in enumerate(block.split(b"\n"), start=2) if line.strip()]
    assert chunk.lines.numbers.tolist() == expected
    refused = list(refused_lines(chunk))
    assert len(refused) + int(chunk.refusals.fine.sum()) == len(expected)
    assert all(reason.endswith(".") for _, reason, _ in refused)
    originals = dict(enumerate(block.decode().split("\n"), start=2))
    assert all(original == originals[number] for number, _, original in refused)


@settings(max_examples=100, deadline=None)
@given(st.lists(st.lists(CELL, min_size=5, max_size=5), max_size=20))
def test_cells_are_split_as_pythons_csv_reader_splits_them(rows) -> None:
    """Against the standard library: a line is whole exactly where its strict reader finds five cells."""
    lines = [line for line in map(",".join, rows) if line.strip()]
    manner = Manner(columns={name: name for name in NAMES})
    chunk = read_chunk(
        "\n".join(lines).encode(), 1, 5, {name: place for place, name in enumerate(NAMES)}, manner, KNOWN
    )
    assert chunk.lines.whole.tolist() == [width(line) == 5 for line in lines]


def width(line: str) -> int:
    try:
        return len(next(csv.reader([line], strict=True)))
    except csv.Error:
        return 0


TRIPS = st.lists(
    st.tuples(st.integers(1, 2), st.integers(0, 40), st.integers(1, 8), st.one_of(st.none(), st.integers(0, 60))),
    max_size=25,
)


def as_trips(rows):
    trips = np.zeros(len(rows), TRIP)
    for place, (truck, hour, duration, meter) in enumerate(rows):
        trips[place] = (
            truck,
            3600 * hour,
            3600 * duration,
            50,
            20,
            *[np.nan] * 4,
            np.nan if meter is None else 100 * meter,
        )
    return trips[np.unique(key_of(trips), return_index=True)[1]]


@settings(max_examples=300, deadline=None)
@given(TRIPS, TRIPS)
def test_no_two_trips_that_stay_overlap_and_what_stayed_stays_again(first, second) -> None:
    record = as_trips([])
    for rows in (first, second):
        trips = as_trips(rows)
        out = sort_out(trips, record, {})
        assert ((out.wrong == 0) | ~(out.new | out.changed)).all()
        kept = record[~np.isin(key_of(record), key_of(trips[out.changed]))]
        record = np.concatenate([kept, trips[out.new | out.changed]])
        record = record[np.argsort(key_of(record))]
        again = sort_out(trips, record, {})
        assert not (again.new | again.changed).any()
        assert none_overlap(record)


def none_overlap(record) -> bool:
    """Of trips by truck and start; devices round their ends by a minute."""
    ends, starts = record["started_s"] + record["duration_s"], record["started_s"]
    same = record["truck"][1:] == record["truck"][:-1]
    return bool((ends[:-1][same] <= starts[1:][same] + 60).all())


HOURS = st.lists(st.tuples(st.integers(0, 60), st.integers(1, 9), st.sampled_from(["25", "26", "", "x"])), max_size=15)


@pytest.mark.django_db
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(HOURS, min_size=1, max_size=3))
def test_no_overlap_is_ever_stored_and_what_was_taken_stands(bring, truck, files):
    """File after file into the same register, by the whole way from bytes to rows."""
    Trip.objects.all().delete()
    for rows in files:
        day = "2025-03-{:02d} {:02d}:00"
        texts = [f"T1,{day.format(1 + hour // 24, hour % 24)},{hours},50,{fuel}" for hour, hours, fuel in rows]
        done = bring("\n".join(("truck,start,duration_h,distance_km,fuel_l", *texts, "")) if texts else HEAD_ONLY)
        assert done.accepted + done.refused == done.lines == max(1, len(texts))
        assert len(done.report) == done.refused
        told = list(csv.reader(done.report))
        assert all(reason.endswith(".") for _, reason, _ in told)
        if texts:
            assert all(texts[int(number) - 2] == original for number, _, original in told)
        stored = trips_within(np.array([[truck.pk, 0, 1 << 35]]))
        assert none_overlap(stored)
        again = bring("\n".join(("truck,start,duration_h,distance_km,fuel_l", *texts, "")) if texts else HEAD_ONLY)
        assert again.new == 0


HEAD_ONLY = "truck,start,duration_h,distance_km,fuel_l\nT9,,,,\n"
