"""Eight people write at once while four read: every entry is there, once, and nobody gets an error but "busy"."""

from __future__ import annotations

import sqlite3
import threading
from collections import Counter
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

pytestmark = pytest.mark.slow
WRITERS, EACH, READERS = 8, 500, 4
PAGES = ("/guest.json?avoid=milk", "/log.json", "/", "/guest")


def test_four_thousand_entries_of_eight_writers(kitchen: Path, serve: Callable[..., Any], client: Any) -> None:
    """4,000 rows, each request once; a second sending of each hundredth adds none; readers see only 200."""
    _, port = serve(kitchen)
    seen, done, lock = Counter[int](), threading.Event(), threading.Lock()

    def write(number: int) -> None:
        link = client(port)
        for n in range(EACH):
            request = f"many-{number}-{n:04}"
            while not link.probe(request, str(100 + n % 90)):
                with lock:
                    seen[503] += 1
            if n % 100 == 0:
                assert link.probe(request, str(100 + n % 90))

    def read(page: str) -> None:
        link = client(port)
        while not done.is_set():
            status, _ = link.get(page)
            with lock:
                seen[status] += 1
            done.wait(0.1)  # four people who look something up

    writers = [threading.Thread(target=write, args=(n,)) for n in range(WRITERS)]
    readers = [threading.Thread(target=read, args=(PAGES[n % len(PAGES)],)) for n in range(READERS)]
    for thread in (*writers, *readers):
        thread.start()
    for thread in writers:
        thread.join()
    done.set()
    for thread in readers:
        thread.join()
    assert set(seen) <= {200, 503} and seen[200] > READERS, seen
    with closing(sqlite3.connect(kitchen)) as connection:
        rows = connection.execute("select request_id from probe_readings where origin = 'web'").fetchall()
        assert connection.execute("pragma integrity_check").fetchone()[0] == "ok"
    assert len(rows) == len(set(rows)) == WRITERS * EACH
