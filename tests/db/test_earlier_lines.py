"""A stock is reckoned by the recipes of their own days: what is changed today takes nothing out of yesterday."""

from __future__ import annotations

import shutil
import sqlite3
from pathlib import Path

from stillroom.db.stock import read_stock
from stillroom.loaders.build import build

MINI = Path(__file__).parents[1] / "data" / "mini"
LOG = "request_id, recorded_at, actor, origin, unit, quantity"
DAY = "2026-11-25"


def _kitchen(at: Path) -> Path:
    """The small kitchen without stock of its own."""
    folder = Path(shutil.copytree(MINI, at / "k"))
    for log in ("counts", "task_ticks", "deliveries"):
        (folder / f"{log}.csv").unlink()
    return folder


def _built(folder: Path, database: Path, on: str, *changes: tuple[str, str]) -> None:
    """The small kitchen as it stands on a day, some words of its book changed."""
    said, book = folder / "kitchen.yaml", folder / "recipes" / "book.yaml"
    lines = [line for line in said.read_text("utf-8").splitlines() if not line.startswith("today:")]
    said.write_text("\n".join([*lines, f"today: {on}"]) + "\n", "utf-8")
    text = book.read_text("utf-8")
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    book.write_text(text, "utf-8")
    result = build(folder, database)
    assert result.errors == 0, result.problems


def _write(database: Path, table: str, name: str, on: str, column: str, thing: str, grams: int) -> None:
    with sqlite3.connect(database) as connection:
        connection.execute(
            f"insert into {table} ({LOG}, {column}, {name}) values (?, ?, 'Ines', 'web', 'g', ?, ?, ?)",
            (f"{table}-{on}-{thing}", f"{on}T12:00:00Z", str(grams), on, thing),
        )
    connection.close()


def _on_hand(database: Path, thing: str) -> int | None:
    with sqlite3.connect(database) as connection:
        found = read_stock(connection, [thing], DAY)[thing].on_hand
    connection.close()
    return None if found is None else int(found)


def test_a_batch_took_what_its_recipe_said_that_day(tmp_path: Path) -> None:
    """9 kg counted; 400 g brown butter made of 500 g on the 21st. From the 25th a batch yields 500 g of 600 g butter.

    Left of before: 8.5 kg, as it was the day before; a batch of the new sort takes 600 g more. All was reckoned anew.
    """
    folder, database = _kitchen(tmp_path), tmp_path / "k.db"
    _built(folder, database, "2026-11-20")
    _write(database, "counts", "item_id", "2026-11-20", "counted_on", "butter", 9000)
    _write(database, "batches", "recipe_id", "2026-11-21", "made_on", "brown-butter", 400)
    assert _on_hand(database, "butter") == 8500
    _built(folder, database, DAY, ("yield: 400 g", "yield: 500 g"), ("- 500 g butter\n", "- 600 g butter\n"))
    assert _on_hand(database, "butter") == 8500
    _write(database, "batches", "recipe_id", DAY, "made_on", "brown-butter", 500)
    assert _on_hand(database, "butter") == 7900


def test_what_a_recipe_no_longer_holds_was_taken_all_the_same(tmp_path: Path) -> None:
    """Made with butter on the 21st, with cream from the 25th: the butter of the 21st is gone, the cream is whole."""
    folder, database = _kitchen(tmp_path), tmp_path / "k.db"
    _built(folder, database, "2026-11-20")
    _write(database, "counts", "item_id", "2026-11-20", "counted_on", "butter", 9000)
    _write(database, "counts", "item_id", "2026-11-20", "counted_on", "cream", 3000)
    _write(database, "batches", "recipe_id", "2026-11-21", "made_on", "brown-butter", 400)
    _built(folder, database, DAY, ("- 500 g butter\n", "- 500 ml cream\n"))
    assert (_on_hand(database, "butter"), _on_hand(database, "cream")) == (8500, 3000)


def test_a_slip_mended_on_the_first_day_holds_for_what_was_before(tmp_path: Path) -> None:
    """The files came in on the 25th with a slip and were mended that day: logs of before follow the mended recipe."""
    folder, database = _kitchen(tmp_path), tmp_path / "k.db"
    _built(folder, database, DAY, ("- 500 g butter\n", "- 5 kg butter\n"))
    _built(folder, database, DAY, ("- 5 kg butter\n", "- 500 g butter\n"))
    _write(database, "counts", "item_id", "2026-11-20", "counted_on", "butter", 9000)
    _write(database, "batches", "recipe_id", "2026-11-21", "made_on", "brown-butter", 400)
    assert _on_hand(database, "butter") == 8500
