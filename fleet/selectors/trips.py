"""Trips by the million: as arrays, in the order of truck and start; and the files that they came in."""

import json
import uuid
from datetime import datetime
from typing import Any

import numpy as np
import numpy.typing as npt
from django.db import connection
from django.db.models import QuerySet

from fleet.models import MeterReading, StaleCell, TripImport, TripSource, Truck, User
from fleet.problems import FleetError
from fleet.selectors.scope import visible_to

Ints = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]
Trips = npt.NDArray[np.void]
FLOATS = (
    "duration_s", "distance_km", "fuel_l", "payload_t", "ascent_m", "idle_s", "temperature_c", "odometer_km",
)  # fmt: skip
OPTIONAL = FLOATS[3:]
TRIP = np.dtype([("truck", "i8"), ("started_s", "i8"), *((name, "f8") for name in FLOATS)])
COLUMNS = ("truck_id", "started_s", *FLOATS)
# What an empty cell is on its way to an array: no trip has such a value, and numbers of one size are read fastest.
EMPTY = -1e30
# A second after all that can be, where a truck has no end of service.
FAR_S = 1 << 40
_ARRAY_HEAD = 20
_SELECTED = ("t.truck_id", "t.started_s", *(f"COALESCE(t.{name}, {EMPTY})" for name in FLOATS))
# The trip that begins last before a stretch may reach into it, and its meter comes before the stretch's meters.
_FIRST = "COALESCE((SELECT MAX(b.started_s) FROM fleet_trip b WHERE b.truck_id = s.truck AND b.started_s < s.lo), s.lo)"
_LAST = "COALESCE((SELECT MIN(a.started_s) FROM fleet_trip a WHERE a.truck_id = s.truck AND a.started_s > s.hi), s.hi)"


def trips_within(stretches: Ints) -> Trips:
    """Trips of trucks that begin in stretches of time.

    stretches : shape (n, 3), truck, first and last second, both included; returns them by truck and start.
    """
    return _trips(stretches, "s.lo", "s.hi")


def trips_around(stretches: Ints) -> Trips:
    """As `trips_within`, with the trip before and the trip after each stretch."""
    return _trips(stretches, _FIRST, _LAST)


def month_of(started_s: Ints) -> Ints:
    """Months since year 0 (12 * year + month - 1, UTC) of moments in seconds since 1970."""
    return started_s.astype("datetime64[s]").astype("datetime64[M]").astype(np.int64) + 12 * 1970


def key_of(trips: Trips) -> Ints:
    """Truck and start of trips as one number that sorts as they do; starts stay below 2**36 s."""
    return np.asarray((trips["truck"] << 36) + trips["started_s"])


def cell_of(trips: Trips) -> Ints:
    """Truck and month of trips as one number that sorts as they do."""
    return np.asarray((trips["truck"] << 20) + month_of(trips["started_s"]))


def month_begins(month: Ints) -> Ints:
    """First second of months as `month_of` counts them."""
    return (np.asarray(month) - 12 * 1970).astype("datetime64[M]").astype("datetime64[s]").astype(np.int64)


def stale_cells(count: int) -> list[tuple[int, int]]:
    """Up to `count` truck-months whose trips changed, by truck and month."""
    return list(StaleCell.objects.order_by("truck", "month").values_list("truck", "month")[:count])


def trucks_by_number(user: User) -> dict[str, tuple[int, int, int]]:
    """Trucks whose depot `user` manages: unit number to (primary key, first second of service, last)."""
    rows = visible_to(user, Truck.objects.all(), role="manager").values_list(
        "unit_number", "pk", "in_service_on", "retired_on"
    )
    day = 86_400
    epoch = datetime(1970, 1, 1).date()  # noqa: DTZ001
    # A day on either side, since a depot's day is not the day of UTC.
    return {
        number: (pk, ((since - epoch).days - 1) * day, ((until - epoch).days + 2) * day if until else FAR_S)
        for number, pk, since, until in rows
    }


def replaced_meters() -> dict[int, list[int]]:
    """Truck to the moments, in seconds since 1970, from which a new meter counts."""
    found: dict[int, list[int]] = {}
    for truck, at in MeterReading.objects.filter(replaced_meter=True).order_by().values_list("truck", "read_at"):
        found.setdefault(truck, []).append(int(at.timestamp()))
    return found


def sources() -> QuerySet[TripSource]:
    """Where files of trips come from, shared by all depots."""
    return TripSource.objects.all()


def trip_import(user: User, key: uuid.UUID) -> TripImport:
    """The file that `user` sent. Raises FleetError with 404 for anybody else's."""
    sent = TripImport.objects.select_related("source", "job", "trial_job").filter(pk=key, sent_by=user).first()
    if sent is None:
        raise FleetError("trip_import_unknown", "", "You have not sent such a file of trips.", status=404)
    return sent


def _trips(stretches: Ints, first: str, last: str) -> Trips:
    if not len(stretches):
        return np.empty(0, TRIP)
    ask = _from_postgres if connection.vendor == "postgresql" else _from_sqlite
    found = ask(stretches, first, last)
    for name in OPTIONAL:
        found[name][found[name] == EMPTY] = np.nan
    key = key_of(found)
    if (key[1:] > key[:-1]).all():
        return found
    # Stretches may share the trip between them.
    return found[np.unique(key, return_index=True)[1]]


def _from_sqlite(stretches: Ints, first: str, last: str) -> Trips:
    asked = "SELECT json_extract(value, '$[0]') truck, json_extract(value, '$[1]') lo, json_extract(value, '$[2]') hi"
    # CROSS JOIN keeps SQLite from turning the loops around.
    sql = (
        f"SELECT {', '.join(_SELECTED)} FROM ({asked} FROM json_each(%s)) s CROSS JOIN fleet_trip t "  # noqa: S608 only our names
        f"WHERE t.truck_id = s.truck AND t.started_s BETWEEN {first} AND {last}"
    )
    with connection.cursor() as cursor:
        cursor.execute(sql, [json.dumps(stretches.tolist())])
        return np.fromiter(cursor.cursor, dtype=TRIP)


def _from_postgres(stretches: Ints, first: str, last: str) -> Trips:
    """One array for each column: row by row, every row would cost as much as forty of them."""
    gathered = ", ".join(f"array_agg({column})" for column in _SELECTED)
    sql = (
        f"SELECT {gathered} FROM unnest(%s::bigint[], %s::bigint[], %s::bigint[]) s(truck, lo, hi) "  # noqa: S608 only our names
        f"JOIN fleet_trip t ON t.truck_id = s.truck AND t.started_s BETWEEN {first} AND {last}"
    )
    from psycopg import Cursor

    connection.ensure_connection()
    with Cursor(connection.connection) as cursor:
        cursor.execute(sql, stretches.T.tolist(), binary=True)
        result: Any = cursor.pgresult
        columns = [result.get_value(0, place) or b"" for place in range(len(COLUMNS))]
    found = np.empty(max(0, len(columns[0]) - _ARRAY_HEAD) // 12, TRIP)
    for name, column in zip(TRIP.names or (), columns, strict=True):
        # After the head of an array each value follows its size, which is eight since none is empty.
        kind = np.dtype([("size", ">i4"), ("value", ">i8" if TRIP[name].kind == "i" else ">f8")])
        found[name] = np.frombuffer(column, kind, offset=_ARRAY_HEAD)["value"] if column else []
    return found
