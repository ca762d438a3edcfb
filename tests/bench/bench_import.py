"""Trips from a CSV file to rows and moments, beside raw COPY or executemany, bulk_create and pandas.to_sql.

    DATABASE_URL=... python tests/bench/bench_import.py [rows]

On the database of DATABASE_URL, or on a new SQLite file. Without rows 1,000,000; BENCH_SMOKE=1 runs 20,000. The file
is invented, sorted by truck and start, with 2 lines in 1,000 that must be refused. The job runs in a process of its
own, so that the peak of memory is its own. Peers get the same rows ready as arrays, on a table without rules.
"""

import os
import sqlite3
import sys
import tempfile
import time
from multiprocessing import get_context
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))
os.environ["OPENBLAS_NUM_THREADS"] = "1"

import numpy as np

# Less than a year of trips for each truck, so that none begins in the future however many there are.
TRIPS_EACH = 2_000
LEAST_TRUCKS = 500


def trucks_for(rows: int) -> int:
    """How many trucks drive so many trips."""
    return max(LEAST_TRUCKS, rows // TRIPS_EACH)


def begin(folder: str) -> None:
    """Start Django on the database of the environment."""
    os.environ.setdefault("DATABASE_URL", f"sqlite:///{folder}/bench.sqlite3")
    os.environ |= {"LOCAL": "1", "VAR_DIR": folder, "DJANGO_SETTINGS_MODULE": "fleet.settings"}
    import django

    django.setup()


def invent(path: Path, rows: int) -> None:
    """Write a file of trips truck by truck; every 500th line has fuel that is no number."""
    each = rows // trucks_for(rows)
    with path.open("w") as out:
        out.write(
            "unit_number,start,duration_min,distance_km,fuel_l,payload_t,ascent_m,idle_min,temperature_c,odometer_km\n"
        )
        for truck in range(trucks_for(rows)):
            rng = np.random.default_rng(truck)
            minutes, gap = rng.integers(30, 180, each), rng.integers(1, 240, each)
            start = np.datetime64("2023-01-02T04:00:00") + 60 * (np.cumsum(minutes + gap) - minutes)
            km = np.round(minutes / 60 * rng.uniform(35, 80, each), 1)
            columns = (
                np.datetime_as_string(start), minutes, km, np.round(km * rng.uniform(0.22, 0.45, each), 2),
                np.round(rng.uniform(0, 25, each), 1), np.round(km * rng.uniform(0, 20, each)).astype(int),
                np.round(minutes * rng.uniform(0, 0.3, each), 1), np.round(rng.normal(12, 8, each), 1),
                np.round(100_000 + np.cumsum(km) - km, 1),
            )  # fmt: skip
            for place, (at, *rest) in enumerate(zip(*(column.tolist() for column in columns), strict=True)):
                if (truck * each + place) % 500 == 250:
                    rest[2] = "unknown"
                out.write(f"B{truck:05d},{at}Z,{','.join(map(str, rest))}\n")


def prepare(path: Path, rows: int) -> str:
    """Make the register and stage the file; return the import's key."""
    from fleet.imports.trips.sending import begin_import
    from fleet.models import Depot, Truck, User

    depot, _ = Depot.objects.get_or_create(code="BENCH", name="Bench")
    user, _ = User.objects.get_or_create(username="bench", is_superuser=True)
    trucks = (Truck(depot=depot, unit_number=f"B{n:05d}", in_service_on="2020-01-01") for n in range(trucks_for(rows)))
    Truck.objects.bulk_create(trucks, ignore_conflicts=True)
    with path.open("rb") as file:
        return str(begin_import(user=user, source="Bench", name=path.name, upload=file).key)


def bring(folder: str, key: str) -> dict[str, float]:
    """Run the job and the forming of moments in this process; return seconds, rows and the peak in MB."""
    begin(folder)
    from checks.jobs.moments import form_moments
    from fleet.imports.trips.chunk import COUNTS
    from fleet.imports.trips.job import bring_trips
    from fleet.imports.trips.manner import factor_of
    from fleet.jobs.ledger import claim
    from fleet.models import Job

    factor_of("duration", "min")  # loads the units once, as a worker has
    job = claim(job_id=Job.objects.create(kind="bring-trips", arguments={"key": key}).pk)
    begun, began = time.perf_counter(), cpu_s()
    counts = bring_trips(job)
    brought = time.perf_counter()
    Job.objects.filter(kind="form-moments").delete()
    cells = form_moments(claim(job_id=Job.objects.create(kind="form-moments").pk))
    formed = time.perf_counter()
    mine, theirs = (after - before for before, after in zip(began, cpu_s(), strict=True))
    status = Path("/proc/self/status").read_text()
    peak = int(status.split("VmHWM:")[1].split()[0]) / 1024
    times = {"bring_s": brought - begun, "form_s": formed - brought, "cpu_s": mine, "database_cpu_s": theirs}
    return {name: counts[name] for name in COUNTS} | cells | times | {"peak_mb": peak}


def cpu_s() -> tuple[float, float]:
    """Seconds of processor used by this process, and by its backend where PostgreSQL runs on this machine."""
    from django.db import connection

    here = sum(os.times()[:2])
    if connection.vendor != "postgresql":
        return here, 0.0
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_backend_pid()")
        path = Path(f"/proc/{cursor.fetchone()[0]}/stat")
    if not path.exists():
        return here, 0.0
    used = path.read_text().rpartition(")")[2].split()[11:13]
    return here, sum(map(int, used)) / os.sysconf("SC_CLK_TCK")


def rows_ready() -> "np.ndarray":
    """All trips on record, as an array."""
    from fleet.models import Truck
    from fleet.selectors.trips import trips_within

    keys = np.array(Truck.objects.order_by("pk").values_list("pk", flat=True))
    return trips_within(np.stack([keys, 0 * keys, 0 * keys + (1 << 35)], axis=1))


def raw(trips: "np.ndarray") -> float:
    """Seconds of the fastest bare way: COPY from ready text, or executemany of ready tuples."""
    from django.db import connection, transaction

    names = ", ".join(f"{name} {'bigint' if i < 2 else 'double precision'}" for i, name in enumerate(trips.dtype.names))
    with connection.cursor() as cursor:
        cursor.execute(f"CREATE TABLE bare ({names}, PRIMARY KEY (truck, started_s))")
        rows = trips.tolist()
        text = "\n".join("\t".join(map(str, row)) for row in rows) if connection.vendor == "postgresql" else ""
        started = time.perf_counter()
        with transaction.atomic():
            if connection.vendor == "postgresql":
                with cursor.cursor.copy("COPY bare FROM STDIN") as copy:
                    copy.write(text)
            else:
                cursor.cursor.connection.executemany(f"INSERT INTO bare VALUES ({','.join('?' * 10)})", rows)
        taken = time.perf_counter() - started
        cursor.execute("DROP TABLE bare")
    return taken


def by_bulk_create(trips: "np.ndarray") -> float:
    """Seconds of bulk_create on the emptied table of trips."""
    from fleet.models import Trip
    from fleet.selectors.trips import COLUMNS

    Trip.objects.all().delete()
    started = time.perf_counter()
    Trip.objects.bulk_create([Trip(**dict(zip(COLUMNS, row, strict=True))) for row in trips.tolist()], batch_size=5_000)
    taken = time.perf_counter() - started
    Trip.objects.all().delete()
    return taken


def by_to_sql(trips: "np.ndarray") -> float:
    """Seconds of pandas.to_sql on the same database, through SQLAlchemy as pandas asks for."""
    import pandas as pd
    import sqlalchemy
    from django.db import connection

    def connect() -> object:
        """As Django connects, so that neither writes to its disk more carefully."""
        return connection.get_new_connection(connection.get_connection_params())

    dialect = "postgresql+psycopg" if connection.vendor == "postgresql" else "sqlite"
    engine = sqlalchemy.create_engine(f"{dialect}://", creator=connect, poolclass=sqlalchemy.NullPool)
    table = pd.DataFrame(trips)
    started = time.perf_counter()
    table.to_sql("peer", engine, index=False, chunksize=5_000)
    taken = time.perf_counter() - started
    with connection.cursor() as cursor:
        cursor.execute("DROP TABLE peer")
    return taken


def by_bare_to_sql(trips: "np.ndarray", folder: str) -> float:
    """Seconds of pandas.to_sql on a bare connection of sqlite3: executemany of ready tuples without a key or a rule."""
    import pandas as pd

    table = pd.DataFrame(trips)
    with sqlite3.connect(f"{folder}/peer.sqlite3") as peer:
        started = time.perf_counter()
        table.to_sql("trips", peer, index=False, chunksize=5_000)
        peer.commit()
        return time.perf_counter() - started


def by_pandas(path: Path, folder: str) -> float:
    """Seconds of pandas from the file to a table, with its times read; nothing is checked, known again or refused."""
    import pandas as pd

    with sqlite3.connect(f"{folder}/peer.sqlite3") as peer:
        started = time.perf_counter()
        pd.read_csv(path, parse_dates=["start"]).to_sql("file", peer, index=False, chunksize=5_000)
        peer.commit()
        return time.perf_counter() - started


def tell(once: dict[str, float], twice: dict[str, float], rows: int) -> float:
    """Print what the two runs did; return the seconds of the first."""
    total, cpu = once["bring_s"] + once["form_s"], once["cpu_s"] + once["database_cpu_s"]
    print(f"accepted {once['accepted']:,} + refused {once['refused']:,} = {once['lines']:,} lines")
    print(f"brought in {once['bring_s']:.2f} s, {rows / once['bring_s']:,.0f} rows/s", end="; ")
    print(f"{once['cells']:,} truck-months formed in {once['form_s']:.2f} s", end="; ")
    print(f"together {rows / total:,.0f} rows/s; peak {once['peak_mb']:.0f} MB")
    print(f"processor: {once['cpu_s']:.2f} s in the worker, {once['database_cpu_s']:.2f} s in the database's", end=" ")
    print(f"process, {rows / cpu:,.0f} rows for each second of one core")
    print(f"again: {twice['new']:,} new, {twice['changed']:,} changed", end="; ")
    print(f"{rows / twice['bring_s']:,.0f} rows/s; peak {twice['peak_mb']:.0f} MB")
    return total


def main() -> None:
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else 20_000 if os.environ.get("BENCH_SMOKE") else 1_000_000
    with tempfile.TemporaryDirectory(prefix="register-bench-") as folder:
        begin(folder)
        from django.core.management import call_command
        from django.db import connection

        call_command("migrate", verbosity=0)
        path = Path(folder) / "trips.csv"
        invent(path, rows)
        started = time.perf_counter()
        key = prepare(path, rows)
        staged = time.perf_counter() - started
        print(f"{connection.vendor}, {rows:,} lines, {path.stat().st_size / 1e6:.0f} MB; upload kept in {staged:.1f} s")
        connection.close()
        with get_context("spawn").Pool(1) as pool:
            once = pool.apply(bring, (folder, key))
        again = prepare(path, rows)
        connection.close()
        with get_context("spawn").Pool(1) as pool:
            twice = pool.apply(bring, (folder, again))
        total = tell(once, twice, rows)
        if rows > 2_000_000:
            return
        trips = rows_ready()
        few = trips[: min(len(trips), 100_000)]
        peers = {
            "raw COPY" if connection.vendor == "postgresql" else "raw executemany": len(trips) / raw(trips),
            "bulk_create": len(few) / by_bulk_create(few),
            "to_sql": len(few) / by_to_sql(few),
            "to_sql, bare": len(few) / by_bare_to_sql(few, folder),
            "read_csv + to_sql": rows / by_pandas(path, folder),
        }
        for name, rate in peers.items():
            print(f"{name:<18} {rate:>10,.0f} rows/s, ours is {rows / total / rate:.2f} of it")


if __name__ == "__main__":
    main()
