"""The reference tables as they are shipped."""

from __future__ import annotations

import sqlite3

import pytest
from stillroom.db.build import create
from stillroom.db.reference_data import load_reference


@pytest.fixture(scope="module")
def db() -> sqlite3.Connection:
    """The reference tables in an empty kitchen."""
    connection = sqlite3.connect(":memory:", isolation_level=None)
    create(connection)
    connection.execute("begin")
    load_reference(connection)
    connection.execute("commit")
    return connection
