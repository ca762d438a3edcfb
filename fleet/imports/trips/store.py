"""Trips into the database by its fastest way, and the truck-months that they touch."""

import json
from itertools import chain
from typing import Any

import numpy as np
from django.db import connection

from fleet.imports.trips.months import form_whole
from fleet.problems import FleetError
from fleet.selectors.trips import COLUMNS, FLOATS, TRIP, Flags, Trips, cell_of, month_of

# One writer at a time holds new trips against those on record; formers of moments wait for it too.
TRIPS_LOCK = 7_310_001
_NAMES = ", ".join(COLUMNS)
_KEPT = ", ".join(f"{name} = excluded.{name}" for name in FLOATS)
_UPSERT = f"ON CONFLICT (truck_id, started_s) DO UPDATE SET {_KEPT}"
_HELD = "SELECT COUNT(*) FROM (SELECT id FROM fleet_truck WHERE id = ANY(%s) ORDER BY id FOR KEY SHARE) AS held"
_THERE = "SELECT COUNT(*) FROM fleet_truck WHERE id IN (SELECT value FROM json_each(%s))"
_BEGIN, _END = b"PGCOPY\n\xff\r\n\0" + bytes(8), b"\xff\xff"


def lock_trips() -> None:
    """Keep other writers of trips out until the transaction ends; SQLite has but one writer anyway."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [TRIPS_LOCK])


def write_trips(new: Trips, changed: Trips, whole: Flags | None = None) -> None:
    """Insert new trips and replace changed ones, each sorted by truck and start. Call under `lock_trips`.

    ``whole`` says which new trips belong to truck-months that have no others: those months are formed at once, with
    the trips at hand. All others that are touched are marked, in the same transaction. Raises FleetError where a
    truck is gone.
    """
    _hold_trucks(np.unique(np.concatenate([new["truck"], changed["truck"]])).tolist())
    if connection.vendor != "postgresql":
        _to_sqlite(new)
        _to_sqlite(changed, _UPSERT)
    else:
        _copy_new(new)
        _upsert_staged(changed)
    formed = np.zeros(len(new), bool) if whole is None else whole
    if formed.any():
        form_whole(new[formed])
    mark_stale(np.concatenate([new[~formed], changed]))


def _hold_trucks(trucks: list[int]) -> None:
    """Keep the trucks from being deleted until the transaction ends."""
    on_postgres = connection.vendor == "postgresql"
    with connection.cursor() as cursor:
        cursor.execute(_HELD if on_postgres else _THERE, [trucks if on_postgres else json.dumps(trucks)])
        (there,) = cursor.fetchone()
    if there != len(trucks):
        raise FleetError("truck_gone", "", "A truck of this file was deleted meanwhile. Send the file again.", 409)


def mark_stale(trips: Trips) -> None:
    """Mark the truck-months of trips, so that their moments are formed again."""
    cell = cell_of(trips)
    # In few runs of one truck and month, where sorting all of them would take as long as writing them.
    fresh = np.flatnonzero(np.diff(cell, prepend=-1))
    months = month_of(trips["started_s"][fresh])
    cells = set(zip(trips["truck"][fresh].tolist(), months.tolist(), strict=True))
    with connection.cursor() as cursor:
        cursor.executemany(
            "INSERT INTO fleet_stalecell (truck_id, month) VALUES (%s, %s) ON CONFLICT DO NOTHING", sorted(cells)
        )


def _to_sqlite(trips: Trips, known: str = "") -> None:
    sql = f"INSERT INTO fleet_trip ({_NAMES}) VALUES ({', '.join('?' * len(COLUMNS))}) {known}"  # noqa: S608 only our names
    with connection.cursor() as cursor:
        # The driver stores a float that is no number as NULL.
        columns = (trips[name].tolist() for name in trips.dtype.names or ())
        cursor.cursor.connection.executemany(sql, zip(*columns, strict=True))


def _copy_new(trips: Trips) -> None:
    """Straight into the table: under the lock we know that none is there, and staging would cost as much again."""
    if len(trips):
        _copy("fleet_trip", trips, [name for name in TRIP.names or () if not np.isnan(trips[name]).all()])


def _upsert_staged(trips: Trips) -> None:
    """By way of a staging table."""
    if not len(trips):
        return
    floats = ", ".join(f"{name} float8" for name in FLOATS)
    staged = f"staged_trips (truck_id int8, started_s int8, {floats}) ON COMMIT DELETE ROWS"
    with connection.cursor() as cursor:
        cursor.execute(f"CREATE TEMP TABLE IF NOT EXISTS {staged}")
        _copy("staged_trips", trips, list(TRIP.names or ()))
        # Without its statistics the planner takes a thousand times as long.
        cursor.execute("ANALYZE staged_trips")
        cursor.execute(f"INSERT INTO fleet_trip ({_NAMES}) SELECT {_NAMES} FROM staged_trips {_UPSERT}")  # noqa: S608 only our names
        cursor.execute("TRUNCATE staged_trips")


def _copy(table: str, trips: Trips, names: list[str]) -> None:
    """COPY in binary; a value that is none is NULL."""
    kinds = (">i8" if trips.dtype[name].kind == "i" else ">f8" for name in names)
    pairs = (((f"n{place}", ">i4"), (f"v{place}", kind)) for place, kind in enumerate(kinds))
    wire = np.empty(len(trips), np.dtype([("fields", ">i2"), *chain.from_iterable(pairs)]))
    wire["fields"] = len(names)
    sent = np.ones((len(trips), wire.itemsize), bool)
    for place, name in enumerate(names):
        wire[f"n{place}"], wire[f"v{place}"] = 8, trips[name]
        if (empty := np.isnan(trips[name])).any():
            # NULL is a size of -1 without a value after it.
            wire[f"n{place}"][empty] = -1
            begin = 6 + 12 * place
            sent[empty, begin : begin + 8] = False
    data = wire.view(np.uint8).reshape(sent.shape)[sent] if not sent.all() else wire
    columns = ", ".join("truck_id" if name == "truck" else name for name in names)
    with connection.cursor() as cursor:
        raw: Any = cursor.cursor
        with raw.copy(f"COPY {table} ({columns}) FROM STDIN (FORMAT BINARY)") as copy:
            copy.write(_BEGIN)
            copy.write(data.tobytes())
            copy.write(_END)
