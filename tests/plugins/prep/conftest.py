"""A kitchen of its own for a test that writes."""

from __future__ import annotations

import shutil
import sqlite3
from pathlib import Path
from typing import Any

import pytest


@pytest.fixture
async def kitchen(demo_db: Path, tmp_path: Path) -> Any:
    """Datasette on a copy of the demonstration that a test may write to."""
    from stillroom.loaders.commands import application

    path = tmp_path / "kitchen.db"
    source = sqlite3.connect(demo_db)
    source.execute("vacuum into ?", (str(path),))
    source.close()
    shutil.copymode(demo_db, path)
    datasette = application(path)
    await datasette.invoke_startup()
    datasette.file = path
    return datasette
