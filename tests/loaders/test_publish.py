"""One transaction: readers see old or new, what people wrote stays, rows keep their ids, changes are told."""

from __future__ import annotations

import shutil
import sqlite3
import threading
from pathlib import Path

import pytest
from stillroom.db.kitchen import today
from stillroom.db.migrate import NotAKitchen
from stillroom.loaders import publish as publisher
from stillroom.loaders.build import Result, build

MINI = Path(__file__).parents[1] / "data" / "mini"
WEB = (
    "insert into {} (request_id, recorded_at, actor, origin, {})"
    " values ('{}', '2026-11-25T10:00:00Z', 'Marit', 'web', {})"
)


def _kitchen(folder: Path, **files: str) -> Path:
    shutil.copytree(MINI, folder, dirs_exist_ok=True)
    for name, text in files.items():
        (folder / f"{name}.csv").write_text(text)
    return folder


def _built(folder: Path, database: Path) -> Result:
    result = build(folder, database)
    assert result.errors == 0, result.problems
    return result


def _rows(database: Path, question: str) -> list[tuple[object, ...]]:
    connection = sqlite3.connect(database)
    try:
        return connection.execute(question).fetchall()
    finally:
        connection.close()


def test_rows_that_stay_keep_their_ids(tmp_path: Path) -> None:
    """A second load of the same files changes no log row, and one row more leaves the others as they were."""
    folder, database = _kitchen(tmp_path / "k"), tmp_path / "k.db"
    _built(folder, database)
    before = _rows(database, "select * from deliveries order by id")
    _built(folder, database)
    assert _rows(database, "select * from deliveries order by id") == before
    more = (MINI / "deliveries.csv").read_text() + "2026-11-25,Quay Fish,mussels,Rope mussels,5 kg,5 kg,22.50,pack\n"
    _built(_kitchen(folder, deliveries=more), database)
    assert _rows(database, "select * from deliveries order by id")[:3] == before
    assert _rows(database, "select count(*) from deliveries") == [(4,)]


def test_a_row_reckoned_anew_keeps_its_id(tmp_path: Path) -> None:
    """When a measure is mended, the count that was said in it is another number in the same row."""
    folder, database = (
        _kitchen(tmp_path / "k", counts="counted on,of,on hand\n2026-11-24,leeks,10 ea\n"),
        tmp_path / "k.db",
    )
    _built(folder, database)
    ((number, first),) = _rows(database, "select id, quantity from counts")
    (folder / "measures.csv").write_text((MINI / "measures.csv").read_text().replace("200 g", "250 g"))
    _built(folder, database)
    assert (first, _rows(database, "select id, quantity from counts")) == ("2000", [(number, "2500")])


def test_a_correction_from_the_web_outlives_every_load(tmp_path: Path) -> None:
    """A row of a file that somebody voided stays voided, even when the file no longer holds it."""
    folder, database = _kitchen(tmp_path / "k"), tmp_path / "k.db"
    _built(folder, database)
    connection = sqlite3.connect(database)
    (wrong,) = connection.execute("select id from counts where item_id = 'butter'").fetchone()
    connection.execute(
        WEB.format(
            "counts",
            "voids, item_id, counted_on, quantity, unit",
            "r1",
            f"{wrong}, 'butter', '2026-11-24', '1500', 'g'",
        )
    )
    connection.commit()
    connection.close()
    standing = "select quantity from standing_counts where item_id = 'butter'"
    _built(folder, database)
    assert _rows(database, standing) == [("1500",)]
    _built(_kitchen(folder, counts="counted on,of,on hand\n2026-11-24,Brown butter,200 g\n"), database)
    assert _rows(database, standing) == [("1500",)]
    assert _rows(database, "pragma foreign_key_check") == []


def test_a_row_of_a_file_can_correct_another(tmp_path: Path) -> None:
    """By request id, in whatever order they stand; the corrected one no longer counts."""
    covers = (
        "served on,covers,request id,voids,stands\n2026-11-23,41,a3,a2,\n2026-11-23,40,a2,a1,\n2026-11-23,4,a1,,\n"
        "2026-11-24,9,b1,,\n2026-11-24,,b2,b1,no\n"
    )
    folder, database = _kitchen(tmp_path / "k", covers=covers), tmp_path / "k.db"
    for _ in range(2):
        _built(folder, database)
        assert _rows(database, "select covers from standing_covers") == [(41,)]


def test_a_use_names_its_batch_by_the_lot(tmp_path: Path) -> None:
    """The id of the batch with that lot; a lot that was never made is a warning."""
    batches = "made on,recipe,made,lot\n2026-11-23,Brown butter,400 g,B1\n2026-11-24,Brown butter,400 g,B2\n"
    uses = "used on,of,lot,quantity,what\n2026-11-24,Brown butter,B2,100 g,used\n2026-11-24,Brown butter,B9,50 g,used\n"
    result = _built(_kitchen(tmp_path / "k", batches=batches, batch_uses=uses), tmp_path / "k.db")
    assert [p.code for p in result.problems] == ["lot-unknown", "promotion-kept"]
    named = "select lot_code from batch_uses as u left join batches as b on b.id = u.batch_id order by u.id"
    assert _rows(tmp_path / "k.db", named) == [("B2",), (None,)]
    codes = [("lot-unknown",), ("promotion-kept",)]  # the pot of mussels is on the menu and not in the files
    assert _rows(tmp_path / "k.db", "select code from warnings") == codes


def test_a_piece_that_ages_names_its_receipt_by_the_lot(tmp_path: Path) -> None:
    """The delivery of that item under that lot code; another item's, or one that never came, is a warning."""
    came = ("butter", "leeks")
    head = "received on,supplier,item,received,lot\n"
    deliveries = head + "".join(f"2026-11-02,Lane Dairy,{x},9 kg,V1\n" for x in came)
    lots = "lot,item,started on,weight,delivery\nL1,butter,2026-11-02,9 kg,V1\nL2,butter,2026-11-02,9 kg,V9\n"
    result = _built(_kitchen(tmp_path / "k", deliveries=deliveries, ageing_lots=lots), tmp_path / "k.db")
    assert "receipt-unknown" in [p.code for p in result.problems]
    behind = "deliveries as d on d.id = a.delivery_id"
    named = f"select d.item_id, d.lot_code from ageing_lots as a left join {behind} order by a.id"
    assert _rows(tmp_path / "k.db", named) == [("butter", "V1"), (None, None)]


def test_readers_see_old_or_new_and_never_half(tmp_path: Path) -> None:
    """While loads of one and of two deliveries alternate, every reading of rows and settings belongs to one of them."""
    database = tmp_path / "k.db"
    text = (MINI / "deliveries.csv").read_text().splitlines()
    one = _kitchen(tmp_path / "one", deliveries="\n".join(text[:2]))
    two = _kitchen(tmp_path / "two", deliveries="\n".join(text[:3]))
    for folder, name in ((one, "One"), (two, "Two")):
        (folder / "kitchen.yaml").write_text((MINI / "kitchen.yaml").read_text().replace("The small kitchen", name))
    _built(one, database)
    done = threading.Event()

    def load() -> None:
        for folder in (two, one, two):
            _built(folder, database)
        done.set()

    writer = threading.Thread(target=load)
    writer.start()
    reader, seen = sqlite3.connect(database), set()
    while not done.is_set():
        seen.add(
            reader.execute(
                "select (select value from kitchen where key = 'name'), (select count(*) from deliveries)"
            ).fetchone()
        )
    writer.join()
    seen.add(
        reader.execute(
            "select (select value from kitchen where key = 'name'), (select count(*) from deliveries)"
        ).fetchone()
    )
    assert seen == {("One", 1), ("Two", 2)}


def test_a_load_that_fails_half_way_leaves_everything(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The last statement of the transaction fails: no table differs from before."""
    folder, database = _kitchen(tmp_path / "k"), tmp_path / "k.db"
    _built(folder, database)
    old = list(sqlite3.connect(database).iterdump())

    def fail(*_: object) -> int:
        raise RuntimeError("no power")

    monkeypatch.setattr(publisher, "record_changes", fail)
    with pytest.raises(RuntimeError, match="no power"):
        build(_kitchen(folder, counts="counted on,of,on hand\n"), database)
    assert list(sqlite3.connect(database).iterdump()) == old


def test_a_change_of_allergens_is_kept_with_its_cause(tmp_path: Path) -> None:
    """Sesame in the walnuts changes the dish above; a review taken back is told; the first load tells nothing."""
    folder, database = _kitchen(tmp_path / "k"), tmp_path / "k.db"
    assert _built(folder, database).changed_dishes == 0
    products = (MINI / "products.csv").read_text()
    gained = products.replace("walnut,almond,2026-09-02,label", "walnut,almond; sesame,2026-09-02,label")
    assert _built(_kitchen(folder, products=gained), database).changed_dishes == 1
    unread = gained.replace("wheat,,2026-09-02,label", ",,,")
    _built(_kitchen(folder, products=unread), database)
    told = _rows(database, "select dish_name, allergen_id, was, now, because from allergen_changes order by id")
    assert told[0] == ("Brill and leeks", "sesame", "not declared", "may contain", "Walnut halves")
    assert ("Brill and leeks", "any", "reviewed", "not reviewed", "Plain flour") in told
    gone = "no product declares it any more; not read: Plain flour"
    assert ("Brill and leeks", "wheat", "contains", "not reviewed", gone) in told
    _built(_kitchen(folder, products=gained), database)
    told = _rows(database, "select allergen_id, was, now, because from allergen_changes order by id")[len(told) :]
    assert told == [
        ("any", "not reviewed", "reviewed", "every label behind it has been read"),
        ("wheat", "not reviewed", "contains", "Plain flour"),
    ]


def test_a_change_of_allergens_has_the_kitchens_own_day(tmp_path: Path) -> None:
    """Fourteen hours ahead of Greenwich, and before the kitchen's day begins: the page says today of what is new."""
    folder, database = _kitchen(tmp_path / "k"), tmp_path / "k.db"
    said = (folder / "kitchen.yaml").read_text("utf-8").replace("Europe/London", "Pacific/Kiritimati")
    (folder / "kitchen.yaml").write_text(said.replace("today: 2026-11-25\n", ""), "utf-8")
    _built(folder, database)
    products = (folder / "products.csv").read_text("utf-8")
    (folder / "products.csv").write_text(products.replace("walnut,almond,2026", "walnut,almond; sesame,2026"), "utf-8")
    with sqlite3.connect(database) as connection:
        before = today(connection).isoformat()
        _built(folder, database)
        ((changed_on,),) = connection.execute("select changed_on from allergen_changes").fetchall()
        assert before <= changed_on <= today(connection).isoformat()


def test_what_the_logs_name_and_the_files_no_more_is_told(tmp_path: Path) -> None:
    """Sorrel was counted and is called wood sorrel now: its count is nobody's; the load that lost it says so."""
    folder, database = _kitchen(tmp_path / "k"), tmp_path / "k.db"
    items = (folder / "items.csv").read_text("utf-8")
    (folder / "items.csv").write_text(items + "sorrel,produce,g,,\ncress,produce,g,,\n", "utf-8")
    _built(folder, database)
    with sqlite3.connect(database) as connection:
        connection.execute(
            "insert into counts (request_id, recorded_at, actor, origin, counted_on, item_id, quantity, unit)"
            " values ('c', '2026-11-24T00:00:00Z', 'Ines', 'web', '2026-11-24', 'sorrel', '900', 'g')"
        )
    connection.close()
    (folder / "items.csv").write_text(items + "wood sorrel,produce,g,,\n", "utf-8")
    told = [p for p in _built(folder, database).problems if p.code == "left-out"]
    assert [(p.what, p.severity) for p in told] == [
        ('"sorrel" is no longer in the files, and the logs name it once', "warning")
    ]
    assert _rows(database, "select what from warnings where code = 'left-out'") == [(told[0].what,)]
    assert "left-out" not in {p.code for p in _built(folder, database).problems}


def test_another_database_is_left_alone(tmp_path: Path) -> None:
    """A file that is no database, another program's, or another version's is refused, and stays as it is."""
    text, other, newer = tmp_path / "a.db", tmp_path / "b.db", tmp_path / "c.db"
    text.write_text("butter, eggs, and a long list of other things to buy for the weekend\n" * 20)
    connection = sqlite3.connect(other)
    connection.execute("create table mine (x)")
    connection.close()
    connection = sqlite3.connect(newer)
    connection.execute("pragma user_version = 99")
    connection.close()
    for database in (text, other, newer):
        with pytest.raises(NotAKitchen, match=database.name):
            build(MINI, database)
    assert text.read_text().startswith("butter, eggs")
    assert _rows(other, "select name from sqlite_master") == [("mine",)]
