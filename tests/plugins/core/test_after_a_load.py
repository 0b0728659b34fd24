"""A load beside a running server: the next page of any kind answers, the office's tables too."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from stillroom.loaders.build import build
from stillroom.loaders.commands import application

DEMO = Path(__file__).parents[3] / "db" / "demo"


async def test_the_first_page_after_a_load_answers(demo_db: Path, tmp_path: Path) -> None:
    """Tables and views are other than before, so Datasette writes its own list of them anew at the next question."""
    path = tmp_path / "kitchen.db"
    with sqlite3.connect(demo_db) as old, sqlite3.connect(path) as copy:
        old.backup(copy)
    house = application(path)
    await house.invoke_startup()
    assert (await house.client.get("/kitchen/items.json?_size=1")).status_code == 200
    for first in ("/kitchen", "/kitchen/items.json?_labels=on"):
        assert build(DEMO, path).errors == 0
        for address in (first, "/kitchen/items", "/guest?avoid=milk"):
            assert (await house.client.get(address)).status_code == 200, address
