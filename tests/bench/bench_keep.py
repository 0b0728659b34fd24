"""Keeping: a backup against a plain copy of the file, the lock of an unchanged load, posts beside readers, and the
guest page in front of a long log.

python -m tests.bench keep. Ratios of one run. A plain copy is forced to the disk as a backup is.
"""

from __future__ import annotations

import http.client
import json
import os
import shutil
import sqlite3
import statistics
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from tests.bench.bench_load import write_kitchen
from tests.bench.serving import kitchen

DEMO = Path(__file__).parents[2] / "db" / "demo"
BACKUP_ROWS, LOAD_ROWS, FEW, MANY = 500_000, 100_000, 50_000, 5_000_000
WRITERS, EACH, READERS = 8, 100, 4
GUEST = "/guest?avoid=milk&avoid=walnut"
FILL = """
    with recursive n(i) as (select 1 union all select i + 1 from n where i < ?)
    insert into plates_sold (request_id, recorded_at, actor, origin, recipe_id, sold_on, service, plates)
    select 'bench-' || ? || '-' || i, '2026-01-01T00:00:00Z', 'bench', 'web', r.id,
        date('2010-01-01', (i % 5800) || ' days'), 'dinner', 1 + i % 30
    from n join (select id, row_number() over () - 1 as place, count(*) over () as dishes from recipes
        where kind = 'dish') as r on r.place = i % r.dishes
"""


def fill(database: Path, rows: int, name: str) -> None:
    """Adds rows of plates sold, over sixteen years and all dishes."""
    with closing(sqlite3.connect(database, isolation_level=None)) as connection:
        connection.execute("pragma synchronous = off")
        connection.execute(FILL, (rows, name))
        connection.execute("pragma wal_checkpoint(truncate)")


def timed(work: Callable[[], Any], turns: int = 5) -> float:
    """The best of several runs [s]."""
    best = float("inf")
    for _ in range(turns):
        begun = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - begun)
    return best


def plain_copy(source: Path, target: Path) -> None:
    """The bytes of a file, forced to the disk."""
    with source.open("rb") as old, target.open("wb") as new:
        shutil.copyfileobj(old, new, 1 << 20)
        new.flush()
        os.fsync(new.fileno())


def backups(demo: Path, folder: Path) -> None:
    """A backup of half a million rows, whole and in its parts."""
    from stillroom.loaders import backup

    database = Path(shutil.copy(demo, folder / "long.db"))
    fill(database, BACKUP_ROWS, "b")
    target = folder / "copy.db"
    plain = timed(lambda: plain_copy(database, target))

    def copied() -> None:
        target.unlink(missing_ok=True)
        backup._copy(database, target, backup.silent)
        backup.sync(target)

    copy = timed(copied)
    check = timed(lambda: backup.problem_of(target), 3)
    digest = timed(lambda: backup.sha256_of(target), 3)
    whole = timed(lambda: backup.backup(database, folder / "safe", keep=1), 3)
    size = database.stat().st_size / 1e6
    print(f"backup of {BACKUP_ROWS:,} rows, {size:.0f} MB          s  against a plain copy")
    for what, seconds in (
        ("plain copy, forced to the disk", plain), ("consistent copy, rows counted", copy), ("checking it", check),
        ("its SHA-256", digest), ("backup, all of it", whole),
    ):  # fmt: skip
        print(f"  {what:34} {seconds:7.3f} {seconds / plain:7.1f}")


@contextmanager
def lock_times() -> Iterator[list[float]]:
    """How long each load holds the write lock [s]."""
    from stillroom.loaders import publish

    real, held = publish.transaction, list[float]()

    @contextmanager
    def watched(connection: sqlite3.Connection) -> Iterator[sqlite3.Connection]:
        with real(connection):
            begun = time.perf_counter()
            yield connection
        held.append(time.perf_counter() - begun)

    publish.transaction = watched  # type: ignore[assignment]
    yield held
    publish.transaction = real


def locks(folder: Path) -> None:
    """The lock of a load that changes nothing."""
    from stillroom.loaders.build import build

    write_kitchen(folder / "kitchen", LOAD_ROWS)
    with lock_times() as held:
        for _ in range(3):
            assert build(folder / "kitchen", folder / "load.db").errors == 0
    print(f"load of {LOAD_ROWS:,} rows again, nothing changed: write lock held {1000 * min(held[1:]):.0f} ms")


def posts(demo: Path, folder: Path) -> None:
    """Eight people write probe readings while four read."""
    database, taken, done = Path(shutil.copy(demo, folder / "posts.db")), list[float](), threading.Event()

    def write(port: int, name: int) -> None:
        link = http.client.HTTPConnection("127.0.0.1", port)
        for n in range(EACH):
            fields = urlencode({"request": f"bench-{name}-{n:05}", "core": "131", "core-unit": "F"})
            begun = time.perf_counter()
            link.request("POST", "/log/probe.json", fields, {"content-type": "application/x-www-form-urlencoded"})
            assert json.loads(link.getresponse().read())["written"]
            taken.append(time.perf_counter() - begun)

    def read(port: int) -> None:
        link = http.client.HTTPConnection("127.0.0.1", port)
        while not done.is_set():
            link.request("GET", GUEST)
            link.getresponse().read()
            done.wait(0.05)  # four people who look something up, not four that hammer

    with kitchen(database) as (port, _):
        readers = [threading.Thread(target=read, args=(port,)) for _ in range(READERS)]
        writers = [threading.Thread(target=write, args=(port, n)) for n in range(WRITERS)]
        begun = time.perf_counter()
        for thread in (*readers, *writers):
            thread.start()
        for thread in writers:
            thread.join()
        seconds = time.perf_counter() - begun
        done.set()
        for thread in readers:
            thread.join()
    cuts = [1000 * c for c in statistics.quantiles(taken, n=100)]
    rate, load = len(taken) / seconds, os.getloadavg()[0]
    print(f"{len(taken)} posts of {WRITERS} beside {READERS} readers: {rate:.0f}/s, p50 {cuts[49]:.1f} ms,"
          f" p95 {cuts[94]:.1f} ms (load of the machine {load:.1f})")  # fmt: skip


def guests(demo: Path, folder: Path) -> None:
    """The guest page with a short and a long log behind it, asked in turn in the same minute."""
    ports, medians = {}, {}
    databases = {rows: Path(shutil.copy(demo, folder / f"guest{rows}.db")) for rows in (FEW, MANY)}
    for rows, database in databases.items():
        fill(database, rows, "g")
    with (
        kitchen(databases[FEW]) as (ports[FEW], _),
        kitchen(databases[MANY]) as (ports[MANY], _),
    ):
        links = {rows: http.client.HTTPConnection("127.0.0.1", port) for rows, port in ports.items()}
        taken: dict[str, dict[int, list[float]]] = {p: {FEW: [], MANY: []} for p in (GUEST,)}
        for turn in range(220):
            for path, by_rows in taken.items():
                for rows, link in links.items():
                    begun = time.perf_counter()
                    link.request("GET", f"{path}&turn={turn}")
                    assert link.getresponse().read()
                    if turn >= 20:
                        by_rows[rows].append(time.perf_counter() - begun)
    for path, by_rows in taken.items():
        medians = {rows: 1000 * statistics.median(times) for rows, times in by_rows.items()}
        ratio = medians[MANY] / medians[FEW]
        print(f"{path:34} {FEW:,} log rows {medians[FEW]:.1f} ms, {MANY:,} {medians[MANY]:.1f} ms, ratio {ratio:.2f}")


def main() -> None:
    """All four, or those named."""
    from stillroom.loaders.build import build

    wanted = sys.argv[2:] or ["backups", "locks", "posts", "guests"]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        demo = folder / "demo.db"
        assert build(DEMO, demo).errors == 0
        for what, work in (
            ("backups", lambda: backups(demo, folder)), ("locks", lambda: locks(folder)),
            ("posts", lambda: posts(demo, folder)), ("guests", lambda: guests(demo, folder)),
        ):  # fmt: skip
            if what in wanted:
                work()


if __name__ == "__main__":
    main()
