"""kill -9 at random moments: no load is ever half there, no acknowledged entry is ever lost."""

from __future__ import annotations

import http.client
import random
import select
import shutil
import sqlite3
import threading
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from stillroom.db.build import log_tables
from stillroom.loaders.build import build
from stillroom.loaders.publish import KITCHEN_TABLES
from stillroom.loaders.same import OF_THE_FILE, kitchen_rows, log_rows

pytestmark = pytest.mark.slow
MINI = Path(__file__).parents[1] / "data" / "mini"
TIMES, WRITERS, ROWS = 40, 8, 600
SEED = 20261125


def pause(seconds: float) -> None:
    select.select([], [], [], max(0.0, seconds))


def state_of(database: Path) -> int:
    """All that a load writes as one number: settings, recipes, logs. The instant of the load is left out of account."""
    with closing(sqlite3.connect(database)) as connection:
        connection.row_factory = sqlite3.Row
        assert connection.execute("pragma integrity_check").fetchone()[0] == "ok"
        assert connection.execute("pragma foreign_key_check").fetchall() == []
        found: list[Any] = []
        for table in KITCHEN_TABLES:
            if table not in OF_THE_FILE:
                found.append(frozenset(kitchen_rows(connection, table)))
        for table in log_tables(connection):
            if table not in {"allergen_changes", "book_versions"}:  # these tell of all loads that there were
                rows = log_rows(connection, table)
                found.append(tuple(tuple(v for v in row if v[0] != "recorded_at") for row in rows))
        return hash(tuple(found))


def written(folder: Path, name: str, rows: int) -> Path:
    """The small kitchen under another name with a long log of counts, each with its own quantity."""
    shutil.copytree(MINI, folder)
    settings = (MINI / "kitchen.yaml").read_text()
    (folder / "kitchen.yaml").write_text(settings.replace("The small kitchen", name))
    lines = [f"2026-11-{1 + n % 24:02},butter,{len(name) + n} g" for n in range(rows)]
    (folder / "counts.csv").write_text("\n".join(["counted on,of,on hand", *lines]) + "\n")
    return folder


def test_a_load_that_is_killed_is_all_or_nothing(forks: Any, tmp_path: Path) -> None:
    """40 times, half of them while the file is being written: the kitchen is the old one or the new one, and whole."""
    chance = random.Random(SEED)
    one, two = (written(tmp_path / n, n * 3, rows) for n, rows in (("one", ROWS), ("second", ROWS + 100)))
    database = tmp_path / "k.db"
    states = {}
    begun = time.monotonic()
    for folder in (one, two, one):
        build(folder, database)
        states[folder] = state_of(database)
    assert states[one] != states[two]
    whole = (time.monotonic() - begun) / 3
    now, outcomes = one, {"old": 0, "new": 0}
    for turn in range(TIMES):
        other = two if now == one else one
        child = forks.start("build", str(other), "--db", str(database))
        if turn % 2:
            wal, until = database.with_name("k.db-wal"), time.monotonic() + 20
            while (not wal.exists() or wal.stat().st_size == 0) and time.monotonic() < until:
                pause(0.002)
            pause(chance.uniform(0, 0.4 * whole))
        else:
            pause(chance.uniform(0, 1.3 * whole))
        forks.kill(child)
        state = state_of(database)
        assert state in (states[one], states[two]), f"turn {turn}: half a load"
        outcomes["new" if state == states[other] else "old"] += 1
        now = one if state == states[one] else two
    assert outcomes["old"] and outcomes["new"], outcomes


def test_no_acknowledged_entry_is_lost(kitchen: Path, serve: Callable[..., Any], forks: Any, client: Any) -> None:
    """40 times a server is killed while eight people write; what it had acknowledged is there, once, and right."""
    chance, told, lock = random.Random(SEED), dict[str, str](), threading.Lock()
    kills = 0

    def write(port: int, name: str) -> None:
        link = client(port)
        for number in range(100_000):
            request, core = f"{name}-{number:05}", str(100 + number % 90)
            try:
                is_written = link.probe(request, core)
            except (OSError, http.client.HTTPException):
                return
            if is_written:
                with lock:
                    told[request] = core

    for turn in range(TIMES):
        child, port = serve(kitchen)
        writers = [threading.Thread(target=write, args=(port, f"t{turn}w{n}")) for n in range(WRITERS)]
        before = len(told)
        for writer in writers:
            writer.start()
        while len(told) == before:
            pause(0.002)
        pause(chance.uniform(0, 0.4))
        forks.kill(child)
        kills += 1
        for writer in writers:
            writer.join()
        missing = told.items() - kept(kitchen)
        assert not missing, f"turn {turn}: {sorted(missing)[:5]}"
    assert kills == TIMES and len(told) > 5 * TIMES


def kept(database: Path) -> set[tuple[str, str]]:
    """Requests and readings that a file holds; it is whole."""
    with closing(sqlite3.connect(database)) as connection:
        assert connection.execute("pragma integrity_check").fetchone()[0] == "ok"
        assert connection.execute("pragma foreign_key_check").fetchall() == []
        rows = connection.execute("select request_id, core_f from probe_readings where origin = 'web'").fetchall()
    return {(request.removeprefix("log-"), f"{core:g}") for request, core in rows}
