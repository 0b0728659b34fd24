"""A kitchen written out and built again: the same in every table, and the second writing the same to the byte."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from stillroom.db import log
from stillroom.db.build import log_tables
from stillroom.db.connect import open_kitchen, transaction
from stillroom.loaders import dump_book, dump_stock
from stillroom.loaders.build import build
from stillroom.loaders.cli import main
from stillroom.loaders.dump import NotDumped, dump, write_out
from stillroom.loaders.dump_house import House
from stillroom.loaders.dump_logs import writer
from stillroom.loaders.dump_text import scalar
from stillroom.loaders.log_fields import COMMON, FIELDS
from stillroom.loaders.merge import REFERS
from stillroom.loaders.same import differences
from stillroom.loaders.tables import BY_NAME, TABLES
from stillroom.loaders.tables_book import BOOK
from stillroom.loaders.tables_log import LOGS
from stillroom.loaders.tables_stock import STOCK

MINI = Path(__file__).parents[1] / "data" / "mini"
DEMO = Path(__file__).parents[2] / "db" / "demo"
COUNT = {"actor": "Marit", "origin": "web", "item_id": "butter", "counted_on": "2026-11-24", "quantity": "500",
         "unit": "g"}  # fmt: skip


def written(database: Path, folder: Path) -> dict[str, bytes]:
    """The files that a kitchen is written out as."""
    folder.mkdir()
    write_out(database, folder)
    return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def round_trip(database: Path, place: Path) -> Path:
    """Writes out, builds again, compares every table, writes out again, compares every byte; the new database."""
    first, again = written(database, place / "first"), place / "again.db"
    result = build(place / "first", again)
    assert result.errors == 0, result.problems
    assert differences(database, again) == []
    second = written(again, place / "second")
    assert second.keys() == first.keys()
    assert [name for name in first if first[name] != second[name]] == []
    return again


def enter(database: Path, table: str, **row: Any) -> int:
    """One entry as the web writes it."""
    with closing(open_kitchen(database)) as connection, transaction(connection):
        return log.append(connection, table, row)


def rows(database: Path, question: str) -> list[tuple[Any, ...]]:
    with closing(sqlite3.connect(database)) as connection:
        return connection.execute(question).fetchall()


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    """The small kitchen, opened for writing out, with a row in the one table that it leaves empty."""
    database = tmp_path_factory.mktemp("house") / "k.db"
    build(MINI, database)
    with closing(sqlite3.connect(database)) as connection:
        connection.row_factory = sqlite3.Row
        connection.execute("insert into equipment (id, name) values ('fire', 'Fire')")
        connection.execute("insert into people (id, name) values ('marit', 'Marit') on conflict do nothing")
        connection.execute("insert into shifts values ('marit', 3, '12:00', '23:00')")
        connection.execute("insert into holidays values ('2026-12-25', null, '')")
        connection.execute("insert into recipe_equipment values ('brown-butter', 'fire', '2', 600, 1200)")
        yield House(connection)


@pytest.fixture
def kitchen(tmp_path: Path) -> Path:
    """The small kitchen's files, to be changed."""
    return Path(shutil.copytree(MINI, tmp_path / "k"))


@pytest.mark.slow
def test_the_demonstration_comes_back(demo_db: Path, tmp_path: Path) -> None:
    """All of it: recipes, prices, 14,000 rows of logs."""
    again = round_trip(demo_db, tmp_path)
    counts = "select count(*) from deliveries"
    assert rows(again, counts) == rows(demo_db, counts) and rows(again, counts)[0][0] > 2000


def test_the_small_kitchen_comes_back(tmp_path: Path) -> None:
    """Through the command's own writing, which builds it again by itself and leaves nothing but the folder."""
    database = tmp_path / "k.db"
    build(MINI, database)
    done = dump(database, tmp_path / "out")
    assert done.files == len([p for p in (tmp_path / "out").rglob("*") if p.is_file()])
    assert sorted(p.name for p in tmp_path.iterdir() if not p.name.startswith("k.db")) == ["out"]
    round_trip(database, tmp_path)


def test_a_workbook_comes_back_as_a_folder(tmp_path: Path) -> None:
    """A kitchen that was never a folder: sheets in, files out, the same rows."""
    import csv

    import xlsxwriter

    with xlsxwriter.Workbook(str(tmp_path / "k.xlsx")) as book:
        settings = book.add_worksheet("kitchen")
        for number, row in enumerate((("setting", "value"), ("name", "By the sheet"), ("decimal mark", ","))):
            settings.write_row(number, 0, row)
        for path in MINI.glob("*.csv"):
            if path.stem in {"items", "stations", "suppliers"}:
                sheet = book.add_worksheet(path.stem)
                for number, cells in enumerate(csv.reader(path.open(encoding="utf-8"))):
                    sheet.write_row(number, 0, [c.replace(".", ",") if c[:1].isdigit() else c for c in cells])
    assert build(tmp_path / "k.xlsx", tmp_path / "k.db").errors == 0
    again = round_trip(tmp_path / "k.db", tmp_path)
    assert rows(again, "select value from kitchen where key = 'decimal mark'") == [(",",)]


def test_what_the_web_wrote_keeps_who_when_and_what_it_voids(kitchen: Path, tmp_path: Path) -> None:
    """Origin, actor, instant, request, corrections and undos, in the order they were written; a load leaves them be."""
    database = tmp_path / "k.db"
    build(kitchen, database)
    first = enter(database, "counts", **COUNT, request_id="r1", recorded_at="2026-11-24T21:03:07Z")
    enter(database, "counts", **{**COUNT, "quantity": "700", "voids": first}, request_id="r2")
    last = enter(database, "counts", **{**COUNT, "note": "on the shelf\nand behind it, \"half\""}, request_id="#r3")
    with closing(open_kitchen(database)) as connection, transaction(connection):
        log.take_back(connection, "counts", last, "Åse")
    again = round_trip(database, tmp_path)
    told = rows(again, "select request_id, actor, origin, stands, note, recorded_at from counts where origin = 'web'")
    assert [(r[0], r[1], r[3]) for r in told] == [
        ("r1", "Marit", 1), ("r2", "Marit", 1), ("#r3", "Marit", 1), (f"undo-counts-{last}", "Åse", 0),
    ]  # fmt: skip
    assert told[0][5] == "2026-11-24T21:03:07Z" and told[2][4] == 'on the shelf\nand behind it, "half"'
    with pytest.raises(sqlite3.IntegrityError, match="never changed"):
        rows(again, "update counts set note = 'x' where origin = 'web'")
    build(kitchen, again)
    assert differences(database, again) == []


def test_entries_outlive_what_they_are_about(kitchen: Path, tmp_path: Path) -> None:
    """An item, supplier and product that the files no longer hold, and an item kept in another unit since."""
    database = tmp_path / "k.db"
    build(kitchen, database)
    enter(database, "counts", **{**COUNT, "item_id": "old-saddle"}, request_id="r1")
    enter(database, "counts", **{**COUNT, "unit": "each", "quantity": "3"}, request_id="r2")
    enter(
        database, "deliveries", request_id="r3", actor="Marit", origin="web", supplier_id="gone-boat",
        item_id="old-saddle", product_id="gone-boat saddle", received_on="2026-11-24", unit="g", received="5000",
        price="31.50", note="price not by weight",
    )  # fmt: skip
    again = round_trip(database, tmp_path)
    kept = "select supplier_id, item_id, product_id, price, priced_quantity from deliveries where request_id = 'r3'"
    assert rows(again, kept) == [("gone-boat", "old-saddle", "gone-boat saddle", "31.50", None)]


def test_rows_of_one_log_find_those_of_another(kitchen: Path, tmp_path: Path) -> None:
    """A use of a batch without a lot, and of one whose lot was given twice; a reading of a batch; a change read."""
    database = tmp_path / "k.db"
    build(kitchen, database)
    made = {"actor": "Marit", "origin": "web", "recipe_id": "brown-butter", "made_on": "2026-11-24", "quantity": "400",
            "unit": "g"}  # fmt: skip
    bare = enter(database, "batches", **made, request_id="b1")
    early = enter(database, "batches", **made, lot_code="B7", request_id="b2")
    late = enter(database, "batches", **made, lot_code="B7", request_id="b3")
    used = {"actor": "Marit", "origin": "web", "recipe_id": "brown-butter", "used_on": "2026-11-24", "quantity": "10",
            "unit": "g", "what": "used"}  # fmt: skip
    for number, batch in enumerate((bare, early, late)):
        enter(database, "batch_uses", **used, batch_id=batch, request_id=f"u{number}")
    enter(
        database, "cooling_readings", request_id="c1", actor="Marit", origin="web", log_code="C-1", batch_id=early,
        read_at="2026-11-24T20:00:00Z", temp_f=101.3,
    )  # fmt: skip
    change = enter(
        database, "allergen_changes", request_id="a1", actor="load", origin="load", dish_id="d", dish_name="D",
        allergen_id="milk", was="not declared", now="contains", because="Butter", changed_on="2026-11-24",
    )  # fmt: skip
    enter(database, "change_reads", request_id="a2", actor="Åse", origin="web", change_id=change)
    again = round_trip(database, tmp_path)
    named = "select b.request_id from batch_uses as u join batches as b on b.id = u.batch_id where u.origin = 'web'"
    assert rows(again, named) == [("b1",), ("b2",), ("b3",)]
    read = "select c.request_id from change_reads as r join allergen_changes as c on c.id = r.change_id"
    assert rows(again, read) == [("a1",)]


def test_when_a_cooling_clock_began_comes_back(kitchen: Path, tmp_path: Path) -> None:
    """To the second, from the browser; also where two tablets crossed, or the rule was changed: told, not lost."""
    database = tmp_path / "k.db"
    build(kitchen, database)
    row = {"actor": "Marit", "origin": "web", "read_at": "2026-11-24T10:00:00Z", "temp_f": 60.0}
    said = [("M-1", "ambient", "2026-11-24T09:30:15Z"), ("M-2", "received", "2026-11-24T10:30:00Z"),
            ("M-3", "cooked", "2026-11-24T09:30:00Z"), ("M-4", "ambient", None)]  # fmt: skip
    for code, rule, at in said:
        enter(database, "cooling_readings", **row, log_code=code, rule=rule, started_at=at, request_id=code)
    again = round_trip(database, tmp_path)
    kept = "select log_code, rule, started_at from cooling_readings where log_code like 'M-%' order by id"
    assert rows(again, kept) == said


def test_prices_of_every_day_come_back(kitchen: Path, tmp_path: Path) -> None:
    """More than one price of a product: the last in products, those before as lists of their day."""
    database = tmp_path / "k.db"
    build(kitchen, database)
    with closing(open_kitchen(database)) as connection, transaction(connection):
        product, quantity = connection.execute("select product_id, priced_quantity from price_quotes").fetchone()
        for day in ("2026-01-05", "2026-02-05"):
            connection.execute("insert into price_quotes values (?, ?, '7.25', ?, 'x')", (product, day, quantity))
    asked = f"select count(*) from price_quotes where product_id = '{product}'"
    again = round_trip(database, tmp_path)
    assert rows(again, asked) == rows(database, asked) and rows(again, asked)[0][0] >= 3


def test_what_would_not_come_back_is_not_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A row that no file can say: told with its table and value, exit code 1, no folder."""
    database = tmp_path / "k.db"
    build(MINI, database)
    enter(database, "counts", **{**COUNT, "note": " a blank before it"}, request_id="r1")
    with closing(open_kitchen(database)) as connection:
        connection.execute("pragma foreign_keys = off")
        connection.execute("update items set note = ' a blank' where id = 'butter'")
    assert main(["dump", "--db", str(database), str(tmp_path / "out")]) == 1
    said = capsys.readouterr().err
    assert "differs" in said and "items: 1 rows are lost" in said and "' a blank'" in said
    assert [p.name for p in tmp_path.iterdir() if p.name.startswith("out")] == []


def test_a_folder_with_something_in_it_is_left_alone(tmp_path: Path) -> None:
    """A dump never mixes with files that are there."""
    build(MINI, tmp_path / "k.db")
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "mine.txt").write_text("mine")
    with pytest.raises(NotDumped, match="is not empty"):
        dump(tmp_path / "k.db", tmp_path / "out")
    assert [p.name for p in (tmp_path / "out").iterdir()] == ["mine.txt"]


def test_the_command_says_what_it_wrote(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Files, rows, and how to build it; 2 where there is no database."""
    build(MINI, tmp_path / "k.db")
    assert main(["dump", "--db", str(tmp_path / "k.db"), str(tmp_path / "out")]) == 0
    assert "built again, it is the same" in capsys.readouterr().out
    assert main(["dump", "--db", str(tmp_path / "none.db"), str(tmp_path / "other")]) == 2
    assert main(["check", str(tmp_path / "out")]) == 0


@pytest.mark.parametrize("table", [t.name for t in (*STOCK, *BOOK)])
def test_every_column_of_the_format_is_written(table: str, house: House) -> None:
    """A column that is added to the file format and not here would be lost by a dump."""
    if table in TABLES_OF_ROWS:
        made = {name for row in TABLES_OF_ROWS[table](house) for name in row}
        made |= {"substitutes": {"ratio", "instead of", "use"}, "measures": {"source"}}.get(table, set())
    else:
        made = {*cells_of(table, house), "recipe"} - ({"recipe"} if table == "recipes" else set())
    assert made == {column.name for column in BY_NAME[table].columns}


TABLES_OF_ROWS = dump_stock.TABLES | dump_book.TABLES
NESTED = {"components": "components", "by products": "by_products", "method": "method_steps", "pieces": "pieces",
          "cooking steps": "cooking_steps"}  # fmt: skip


def cells_of(table: str, house: House) -> Iterator[str]:
    """The headers that one recipe, or one row below a recipe, is written with."""
    if table == "recipes":
        (recipe, *_) = house.rows("select * from recipes")
        yield from dump_book.recipe_cells(house, recipe, {"components": [], "surfaces": [], "equipment": []})
        return
    names = house.rows(f"select name from pragma_table_info('{NESTED[table]}')")
    empty = dict.fromkeys((r["name"] for r in names), None)
    row = empty | {"unit": "g", "item_id": "butter", "line": "", "scales": "", "text": "", "kind": "", "start_c": 5.0}
    yield from dump_book.NESTED["piece" if table == "pieces" else table](house, row)  # type: ignore[arg-type]


@pytest.mark.parametrize("table", LOGS, ids=[t.name for t in LOGS])
def test_every_column_of_a_log_is_written(table: Any, house: House) -> None:
    """Each header has a writer; one that no field reads raises KeyError."""
    assert all(callable(writer(house, table, column)) for column in table.columns)


def test_every_table_of_the_format_is_written() -> None:
    """Tables of rows, recipes and what stands below them, logs: together all that can be filled in."""
    assert {*TABLES_OF_ROWS, "recipes", *NESTED, *(t.name for t in LOGS)} == {t.name for t in TABLES}


def test_what_yaml_would_read_otherwise_stands_in_quotation_marks() -> None:
    """Marks that begin something else, and letters that a line can't hold."""
    import yaml

    texts = (
        "plain words", "a: b", "# no remark", "- no list", "no", "1:30", "'", '"', "\\", "a\nb", "\u2028", "\x85",
        "\ufeffx", "\u202edesrever", "🧈 butter", "{x}", "&a", "*a", "!t", "%", "@", "`", "| x", "a #b", "é", "~",
    )  # fmt: skip
    for text in texts:
        node = yaml.compose(f"- {scalar(text)}\n", Loader=yaml.SafeLoader)
        assert node.value[0].value == text, text


def test_every_column_of_every_log_has_a_place_in_the_files(house: House) -> None:
    """A column or a log that only the web fills would be lost by a dump: it needs a field, or a row it refers to."""
    read = {name.replace(" ", "_"): {f.column for f in (*fields, *COMMON)} for name, fields in FIELDS.items()}
    made = {"id", "request_id", "voids"}
    lost = {
        table: columns
        for table in log_tables(house.connection)
        if (
            columns := {r[0] for r in house.connection.execute("select name from pragma_table_info(?)", (table,))}
            - read.get(table, set()) - {column for column, _, _ in REFERS.get(table, ())} - made
        )
    }  # fmt: skip
    assert not lost, sorted(f"{table}.{column}" for table, columns in lost.items() for column in columns)
