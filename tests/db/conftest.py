"""The small kitchen in a file of its own, for tests that write in it."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest


@pytest.fixture
def kitchen(tmp_path: Path) -> Path:
    """The small kitchen's database."""
    from stillroom.loaders.build import build

    assert build(Path(__file__).parents[1] / "data" / "mini", tmp_path / "k.db").errors == 0
    return tmp_path / "k.db"


@pytest.fixture
def db(kitchen: Path) -> Iterator[sqlite3.Connection]:
    """A connection to it."""
    connection = sqlite3.connect(kitchen, isolation_level=None)
    connection.execute("pragma foreign_keys = on")
    yield connection
    connection.close()
