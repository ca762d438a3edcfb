"""Batches of trips from a program: each row has its outcome, and one key is one batch."""

import uuid
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connection

from fleet.imports.trips.batch import MOST_ROWS, bring_batch
from fleet.models import StaleCell, Trip, TripImport, TripSource
from fleet.problems import FleetError

pytestmark = pytest.mark.django_db


def row(**changes):
    return {
        "truck": "T1",
        "start": "2025-03-14T08:30:00+01:00",
        "duration_s": 3600,
        "distance_km": 80,
        "fuel_l": 25,
    } | changes


@pytest.fixture
def send(crew, truck):
    def run(*rows, key=None, user=crew.manager):
        return bring_batch(user=user, source="Device feed", key=key or uuid.uuid4(), rows=rows)

    return run


def test_each_row_has_its_outcome_and_they_make_up_all_rows(send):
    send(row())
    done = send(
        row(),
        row(start="2025-03-15T08:30Z", end="2025-03-15T09:30Z", duration_s=None),
        row(start="2025-03-15T09:00Z"),
        row(start="2025-03-16T08:30Z", fuel_l="25"),
        row(start="2025-03-17T08:30"),
        row(start="2025-03-18T08:30Z", colour="red"),
        row(start="2025-03-19T08:30Z", fuel_l=True),
        row(start="2025-03-20T08:30Z", fuel_l=10**400),
        row(truck="T9"),
    )
    assert [one.outcome for one in done.rows] == ["known", "new", *["refused"] * 7]
    assert (done.lines, done.accepted, done.refused) == (9, 2, 7)
    words = (
        "",
        "",
        "overlaps",
        "no number",
        "with its offset",
        "no other fields",
        "no number",
        "no number",
        "no truck",
    )
    assert all(word in one.reason for word, one in zip(words, done.rows, strict=True))
    assert Trip.objects.count() == 2


def test_a_correction_is_told_and_marks_its_month(send):
    send(row())
    StaleCell.objects.all().delete()
    assert send(row(fuel_l=26)).rows[0].outcome == "changed"
    assert Trip.objects.get().fuel_l == 26
    assert StaleCell.objects.count() == 1


def test_the_same_key_gives_the_same_answer_and_writes_nothing(send, no_writes):
    key = uuid.uuid4()
    first = send(row(), row(truck="T9"), key=key)
    Trip.objects.all().delete()
    with no_writes():
        again = send(row(), row(truck="T9"), key=key)
    assert (again.rows, again.repeated, first.repeated) == (first.rows, True, False)
    assert not Trip.objects.exists()


def test_a_key_cannot_be_used_for_other_rows_nor_by_somebody_else(send, crew):
    key = uuid.uuid4()
    send(row(), key=key)
    for rows, user in ((row(fuel_l=27), crew.manager),):
        with pytest.raises(FleetError) as refusal:
            send(rows, key=key, user=user)
        assert refusal.value.status == 409


def test_only_managers_send_and_a_batch_has_its_bounds(send, crew):
    with pytest.raises(FleetError) as refusal:
        send(row(), user=crew.technician)
    assert refusal.value.status == 403
    for rows in ([], [row()] * (MOST_ROWS + 1)):
        with pytest.raises(FleetError) as refusal:
            send(*rows)
        assert refusal.value.code == "batch_size"
    assert not TripImport.objects.exists()


def test_what_is_no_row_is_refused_without_harm(send):
    odd = (row(truck=""), row(truck="\ud800"), row(start=""))
    done = send(None, 7, [], {}, {"truck": {"a": 1}}, *odd, row(payload_t=None))
    assert [one.outcome for one in done.rows] == [*["refused"] * 8, "new"]


@pytest.mark.django_db(transaction=True)
def test_programs_that_name_a_new_source_at_once_are_all_taken(send):
    start = Barrier(4)

    def at_once(number):
        try:
            start.wait(30)
            return send(row(start=f"2025-04-{number + 1:02d}T08:30Z")).accepted
        finally:
            connection.close()

    with ThreadPoolExecutor(4) as pool:
        assert list(pool.map(at_once, range(4))) == [1, 1, 1, 1]
    assert TripSource.objects.get().name == "Device feed"
    assert Trip.objects.count() == 4
