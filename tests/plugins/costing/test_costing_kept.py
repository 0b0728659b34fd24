"""Answers kept for each state of the file: made once, the oldest goes first, a new row makes anew what reads it."""

from __future__ import annotations

import shutil
import sqlite3
from pathlib import Path
from typing import Any

import pytest
from stillroom.db.build import create
from stillroom.plugins.costing import rows


@pytest.fixture
def db(tmp_path: Path) -> sqlite3.Connection:
    connection = sqlite3.connect(tmp_path / "kitchen.db", isolation_level=None)
    create(connection)
    return connection


def test_what_is_asked_for_often_stays(db: sqlite3.Connection, monkeypatch: pytest.MonkeyPatch) -> None:
    """Room for two: the one asked for in between stays, the other goes."""
    monkeypatch.setattr(rows, "KEPT", 2)
    monkeypatch.setattr(rows, "_kept", {})
    made: list[str] = []

    def ask(name: str) -> None:
        rows.once(db, name, lambda: made.append(name))

    for name in ("house", "a", "house", "b", "house", "a"):
        ask(name)
    assert made == ["house", "a", "b", "a"]


def test_a_new_row_makes_it_anew(db: sqlite3.Connection) -> None:
    """A count written down, or a recipe kept as it stood, is another state of the file."""
    made: list[int] = []
    log = "(request_id, recorded_at, actor, origin, {}) values ('r', '', '', 'web', {})"
    for statement in (
        "insert into counts " + log.format("item_id, counted_on, quantity, unit", "'x', '2026-03-01', '1', 'g'"),
        "insert into book_versions " + log.format("what, of_id, since_on, state", "'item', 'x', '2026-03-01', ''"),
    ):
        for _ in range(2):
            rows.once(db, "house", lambda: made.append(1))
        db.execute(statement)
    rows.once(db, "house", lambda: made.append(1))
    assert len(made) == 3


def test_a_row_elsewhere_leaves_it(db: sqlite3.Connection) -> None:
    """A count makes nothing anew that is made of plates sold alone; a row of plates sold does."""
    made: list[int] = []
    log = "(request_id, recorded_at, actor, origin, {}) values ('r', '', '', 'web', {})"
    for statement in (
        "insert into counts " + log.format("item_id, counted_on, quantity, unit", "'x', '2026-03-01', '1', 'g'"),
        "insert into plates_sold " + log.format("recipe_id, sold_on, plates", "'x', '2026-03-01', 1"),
    ):
        rows.once(db, "mix", lambda: made.append(1), rows.SOLD)
        db.execute(statement)
        rows.once(db, "mix", lambda: made.append(1), rows.SOLD)
    assert len(made) == 2


BY_OLDEST = "?basis=first+in+first+out"
PAGES = ("/today.json", "/menu.json", f"/menu.json{BY_OLDEST}", "/cost.json", f"/cost.json{BY_OLDEST}",
         "/cost/cuts.json", "/cost/actual.json", "/cost/breakdown/K-053.json",
         "/cost/brill-on-the-bone-buttered-samphire.json", "/short/brill.json")  # fmt: skip
AT = "'{0}', '2026-11-25T09:00:00Z', 'Marit', 'web'"
FRAME = "request_id, recorded_at, actor, origin"
WRITES = {
    "deliveries": f"insert into deliveries ({FRAME}, supplier_id, item_id, received_on, unit, received, price,"
    f" priced_quantity) values ({AT}, 'hollow-creek-boats', 'brill', '2026-11-25', 'g', '5000', '31', '1000')",
    "counts": f"insert into counts ({FRAME}, item_id, counted_on, quantity, unit)"
    f" values ({AT}, 'brill', '2026-11-25', '9000', 'g')",
    "plates_sold": f"insert into plates_sold ({FRAME}, recipe_id, sold_on, plates)"
    f" values ({AT}, 'brill-on-the-bone-buttered-samphire', '2026-11-25', 700)",
    "breakdowns": f"insert into breakdowns ({FRAME}, code, cut_recipe_id, broken_on, input_g)"
    f" values ({AT}, 'K-999', 'brill-portion', '2026-11-25', '4000')",
    "breakdown_outputs": f"insert into breakdown_outputs ({FRAME}, breakdown_code, recipe_id, weight_g, pieces)"
    f" values ({AT}, 'K-999', 'brill-portion', '1300', 5)",
    "batch_uses": f"insert into batch_uses ({FRAME}, item_id, used_on, quantity, unit, what)"
    f" values ({AT}, 'butter-salted', '2026-11-20', '9000', 'g', 'discarded')",
    "ageing_lots": f"insert into ageing_lots ({FRAME}, lot_code, item_id, started_on, start_g)"
    f" values ({AT}, 'X-1', 'beef-rib-bone-in', '2026-11-01', '9000')",
}


@pytest.mark.parametrize("order", [list(WRITES), list(reversed(WRITES))], ids=["one way", "the other"])
async def test_no_page_shows_what_was(demo_db: Path, tmp_path: Path, order: list[str]) -> None:
    """After a row in any log every page says what it says when nothing is kept; some page moves with each of most."""
    from stillroom.loaders.commands import application

    path = tmp_path / "kitchen.db"
    shutil.copy(demo_db, path)
    house = application(path)
    await house.invoke_startup()

    async def all_pages() -> dict[str, Any]:
        return {page: (await house.client.get(page)).json() for page in PAGES}

    before, moved = await all_pages(), set()
    for table in order:
        connection = sqlite3.connect(path, isolation_level=None)
        connection.execute(WRITES[table].format(table))
        connection.close()
        kept = await all_pages()
        rows._kept.clear()
        assert kept == await all_pages(), table
        moved |= {table} if kept != before else set()
        before = kept
    assert {"deliveries", "counts", "plates_sold"} <= moved and moved & {"breakdowns", "breakdown_outputs"}
