"""A long delivery log: checked and loaded by stillroom, beside the same rows put in unchecked.

python -m tests.bench load. Ratios of one run; the bare way writes the same columns, indexes and ids. Each way runs in
a process of its own, so that its memory is its own.
"""

from __future__ import annotations

import csv
import itertools
import random
import resource
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from stillroom.db.build import create
from stillroom.db.connect import open_kitchen

ROWS = 500_000
TURNS = 2
COLUMNS = (
    "received_on", "supplier_id", "item_id", "document", "ordered_on", "due_on", "ordered", "received", "rejected",
    "door_temp_f", "price", "note", "lot_code",
)  # fmt: skip
HEADER = (
    "received on,supplier,item,document,ordered on,due on,ordered,received,rejected,"
    "door temperature,price,price per,lot"
)
FIXED = {
    "recorded_at": "2026-11-25T10:00:00Z",
    "actor": "bench",
    "origin": "file",
    "unit": "g",
    "priced_quantity": "1000",
}


def write_kitchen(folder: Path, rows: int) -> None:
    """A kitchen of 30 suppliers and 400 items; each item comes in three usual sizes, one line in five is weighed."""
    pick, day = random.Random(4), date(2010, 1, 1)
    suppliers, items = [f"Supplier {n}" for n in range(30)], [f"item {n}" for n in range(400)]
    sizes = (1, 2, 2.5, 5, 10, 12.5, 20, 25)
    usual = {i: (pick.sample(sizes, 3), pick.choice(suppliers), pick.randint(100, 4000)) for i in items}
    folder.mkdir()
    (folder / "kitchen.yaml").write_text("name: Bench\n", "utf-8")
    (folder / "suppliers.csv").write_text("\n".join(["name", *suppliers]), "utf-8")
    (folder / "items.csv").write_text("\n".join(["name,category,unit", *(f"{i},produce,g" for i in items)]), "utf-8")
    with (folder / "deliveries.csv").open("w", encoding="utf-8") as file:
        file.write(HEADER + "\n")
        for number in range(rows):
            day += timedelta(days=number % 90 == 0)
            item = pick.choice(items)
            sizes_of, supplier, pence = usual[item]
            ordered = f"{pick.choice(sizes_of)} kg"
            came = ordered if pick.random() < 0.8 else f"{pick.randint(900, 25_000) / 1000} kg"
            price = round(pence * (1 + pick.randint(-20, 20) / 100)) / 100
            file.write(
                f"{day},{supplier},{item},D{number // 8},{day - timedelta(days=1)},{day},{ordered},{came},"
                f"{'0 kg' if pick.random() < 0.98 else '0.5 kg'},{pick.randint(330, 420) / 10} °F,{price},kg,"
                f"L{number}\n"
            )


def _records(folder: Path) -> Iterator[list[str]]:
    with (folder / "deliveries.csv").open(encoding="utf-8", newline="") as file:
        rows = csv.reader(file)
        next(rows)
        for number, row in enumerate(rows):
            row[9] = "38.5"  # a real column takes no unit
            yield [*row, f"{number:032x}", *FIXED.values()]


def _empty(database: Path) -> sqlite3.Connection:
    connection = open_kitchen(database)
    create(connection)
    return connection


def raw(folder: Path, database: Path) -> None:
    """csv and executemany in one transaction, nothing checked."""
    names = [*COLUMNS, "request_id", *FIXED]
    connection = _empty(database)
    connection.execute("begin")
    statement = f"insert into deliveries ({', '.join(names)}) values ({', '.join('?' * len(names))})"
    connection.executemany(statement, _records(folder))
    connection.execute("commit")


def utils(folder: Path, database: Path) -> None:
    """sqlite-utils insert --csv, as typed, into a table of its own; nothing checked."""
    from sqlite_utils.cli import cli

    cli.main(["insert", str(database), "deliveries", str(folder / "deliveries.csv"), "--csv"], standalone_mode=False)


def name_columns(folder: Path) -> None:
    """The same rows again under the table's own column names, for a way that knows no others."""
    with (folder.parent / "named.csv").open("w", encoding="utf-8", newline="") as file:
        rows = csv.writer(file)
        rows.writerow([*COLUMNS, "request_id", *FIXED])
        rows.writerows(_records(folder))


def utils_same(folder: Path, database: Path) -> None:
    """sqlite-utils insert --csv into the kitchen's own table, with its indexes; nothing checked."""
    from sqlite_utils.cli import cli

    _empty(database).close()
    cli.main(["insert", str(database), "deliveries", str(folder.parent / "named.csv"), "--csv"], standalone_mode=False)


def ours(folder: Path, database: Path) -> None:
    """stillroom build."""
    from stillroom.loaders.build import build

    result = build(folder, database)
    assert not result.errors, result.problems[:3]


WAYS = {"raw": raw, "utils": utils, "utils, same table": utils_same, "ours": ours}


def watched(folder: Path, database: Path) -> tuple[float, set[int]]:
    """Loads again over a live database: the longest wait of a reader [s] and the row counts it saw."""
    longest, seen, done = 0.0, set[int](), threading.Event()
    worker = threading.Thread(target=lambda: (_run("ours", folder, database), done.set()))
    worker.start()
    reader = sqlite3.connect(database)
    while not done.is_set():
        begun = time.perf_counter()
        reader.execute("select name from items limit 1").fetchone()
        longest = max(longest, time.perf_counter() - begun)
        seen.add(reader.execute("select max(rowid) from deliveries").fetchone()[0])
        time.sleep(0.005)
    worker.join()
    return longest, seen


def _run(way: str, folder: Path, database: Path) -> tuple[float, float, float]:
    """Seconds, seconds of processor, and MB that one way took in a process of its own."""
    command = [sys.executable, __file__, "--one", way, folder, database]
    seconds, processor, megabytes = subprocess.run(command, check=True, capture_output=True, text=True).stdout.split()
    return float(seconds), float(processor), float(megabytes)


def main(rows: int) -> None:
    """Prints the table."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "kitchen"
        write_kitchen(folder, rows)
        name_columns(folder)
        best: dict[str, tuple[float, float, float]] = {}
        for turn, way in itertools.product(range(TURNS), WAYS):
            took = _run(way, folder, Path(name) / f"{way}{turn}.db")
            best[way] = min(best.get(way, took), took)
        print(f"{rows:,} delivery rows       s  processor s    MB  rate against raw, by the clock and by the processor")
        for way, (seconds, processor, megabytes) in best.items():
            clock, worked = (best["raw"][n] / best[way][n] for n in (0, 1))
            print(f"{way:20} {seconds:9.2f} {processor:12.2f} {megabytes:5.0f} {clock:9.2f} {worked:9.2f}")
        for way in ("utils", "utils, same table"):
            clock, worked = (best[way][n] / best["ours"][n] for n in (0, 1))
            print(f"ours / {way}: {clock:.2f} by the clock, {worked:.2f} by the processor")
        longest, seen = watched(folder, Path(name) / "ours0.db")
        print(
            f"second load over a live database: longest wait of a reader {longest * 1000:.0f} ms,"
            f" row counts seen {len(seen)}"
        )


def one(way: str, folder: str, database: str) -> None:
    """One way, timed from inside."""
    begun = time.perf_counter()
    WAYS[way](Path(folder), Path(database))
    peak: Any = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    print(time.perf_counter() - begun, time.process_time(), peak / 1024)


if __name__ == "__main__":
    if sys.argv[1:2] == ["--one"]:
        one(*sys.argv[2:])
    else:
        main(next((int(a) for a in sys.argv[1:] if a.isdigit()), ROWS))
