"""Checked log rows on their way, kept in a file: a long log then needs little memory, and a short lock."""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
from collections.abc import Callable, Iterator, Sequence
from itertools import islice
from pathlib import Path
from typing import Any, Self

CHUNK = 50_000
# What the file's tables hold beside the columns of the log table itself.
OWN = (
    "voids_said", "lot_said", "delivery_said", "batch_said", "change_said", "is_kept", "new_id", "row_number",
    "sheet_number",
)  # fmt: skip


class Stage:
    """A temporary database with one table for each log table met; gone when the load is over."""

    def __init__(self) -> None:
        self._folder = Path(tempfile.mkdtemp(prefix="stillroom-"))
        self.path = self._folder / "stage.db"
        self.connection = sqlite3.connect(self.path, isolation_level=None)
        self.connection.execute("pragma journal_mode = off")
        self.connection.execute("pragma synchronous = off")
        self.counts: dict[str, int] = {}

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.connection.close()
        shutil.rmtree(self._folder, ignore_errors=True)

    def make(self, table: str, columns: Sequence[str]) -> None:
        """An empty table with these columns."""
        self.connection.execute(f"create table if not exists {table} ({', '.join(columns)})")
        self.counts.setdefault(table, 0)

    def fill(
        self, table: str, columns: Sequence[str], rows: Iterator[tuple[Any, ...]], tell: Callable[[str], None]
    ) -> None:
        """Rows of one sheet, in the order of `columns`; `tell` hears how far it got."""
        statement = f"insert into {table} ({', '.join(columns)}) values ({', '.join('?' * len(columns))})"
        self.connection.execute("begin")
        while True:
            done = self.connection.executemany(statement, islice(rows, CHUNK)).rowcount
            self.counts[table] += max(done, 0)
            if done < CHUNK:
                break
            tell(f"{table.replace('_', ' ')}: {self.counts[table]:,} rows")
        self.connection.execute("commit")

    @property
    def rows(self) -> int:
        """How many rows are kept here."""
        return sum(self.counts.values())
