"""From files to a database: what goes in comes out exactly, and every mistake is told with its place and its cure."""

from __future__ import annotations

import json
import sqlite3
from pathlib import Path

import pytest
from stillroom.db.problems import as_text
from stillroom.loaders.build import build, check

ROOT = Path(__file__).parents[2]
GOOD = {
    "kitchen.yaml": "name: Small\nregime: UK\ntoday: 2026-11-25\n",
    "stations.csv": "name\nGrill\n",
    "suppliers.csv": "name,kind\nDairy,dairy\n",
    "items.csv": "name,category,unit\nbutter,dairy,g\nleeks,produce,g\nlemons,produce,each\n",
    "products.csv": (
        "supplier,item,product,pack,price,price per,price date,contains,reviewed,read\n"
        "Dairy,butter,Farm butter,20/250 g,45.36,pack,2026-11-01,milk,2026-09-02,label\n"
        "Dairy,leeks,Leeks,10 kg,24,pack,2026-11-01,,2026-09-02,letter\n"
    ),
    "recipes/book.yaml": (
        "name: Brown butter\nkind: sub-recipe\nyield: 400 g\ncomponents:\n  - 500 g butter\n---\n"
        "name: Leeks in butter\nkind: dish\nyield: 2 plates\ncomponents:\n  - ½ lb leeks, trimmed\n"
        "  - line: 60 g Brown butter\n    can be left off: yes\n"
    ),
    "deliveries.csv": "received on,supplier,item,ordered,received,price,price per\n2026-11-24,Dairy,butter,10 kg,9.5 kg,8.10,kg\n",
}


def kitchen(folder: Path, **over: str) -> Path:
    """The small kitchen with some of its files laid over (`__` in a name is a slash, `_csv` an ending)."""
    for name, text in {**GOOD, **{k.replace("__", "/").replace("_csv", ".csv").replace("_yaml", ".yaml"): v for k, v in over.items()}}.items():
        path = folder / name
        path.parent.mkdir(exist_ok=True, parents=True)
        path.write_text(text, "utf-8")
    return folder


def test_a_small_kitchen_goes_in_exactly(tmp_path: Path) -> None:
    """Half a pound of leeks for two plates is 113.3980925 g a plate; 30 g of brown butter is 37.5 g of butter."""
    result = build(kitchen(tmp_path / "k"), tmp_path / "k.db")
    assert result.problems == []
    db = sqlite3.connect(tmp_path / "k.db")
    rows = dict(db.execute("select item_id, quantity from explosion where recipe_id = 'leeks-in-butter'").fetchall())
    assert rows == {"leeks": "113.3980925", "butter": "37.5"}
    assert db.execute("select received, price, priced_quantity from deliveries").fetchall() == [("9500", "8.10", "1000")]
    assert db.execute("select pack_quantity from products where item_id = 'butter'").fetchone() == ("5000",)
    assert db.execute("pragma foreign_key_check").fetchall() == []


def test_a_second_load_replaces_and_tells_what_changed(tmp_path: Path) -> None:
    """Rows do not double, and an allergen that a label gains is kept with dish and product."""
    build(kitchen(tmp_path / "k"), tmp_path / "k.db")
    changed = GOOD["products.csv"].replace("2026-11-01,milk,", "2026-11-01,milk; mustard,")
    result = build(kitchen(tmp_path / "k", products_csv=changed), tmp_path / "k.db")
    assert result.changed_dishes == 1
    db = sqlite3.connect(tmp_path / "k.db")
    assert db.execute("select count(*) from deliveries").fetchone() == (1,)
    rows = db.execute("select dish_id, allergen_id, was, now, because from allergen_changes").fetchall()
    assert rows == [("leeks-in-butter", "mustard", "not declared", "contains", "Farm butter")]


def test_what_was_written_on_the_web_survives_a_load(tmp_path: Path) -> None:
    """A load replaces the rows that came from files and no others."""
    build(kitchen(tmp_path / "k"), tmp_path / "k.db")
    db = sqlite3.connect(tmp_path / "k.db")
    db.execute(
        "insert into counts (request_id, recorded_at, actor, origin, item_id, counted_on, quantity, unit)"
        " values ('r', '2026-11-25T10:00:00Z', 'Marit', 'web', 'butter', '2026-11-25', '500', 'g')"
    )
    db.commit()
    build(tmp_path / "k", tmp_path / "k.db")
    assert db.execute("select quantity from counts").fetchall() == [("500",)]


def test_a_mistake_writes_nothing(tmp_path: Path) -> None:
    """The old kitchen stays as it was."""
    build(kitchen(tmp_path / "k"), tmp_path / "k.db")
    bad = build(kitchen(tmp_path / "k", items_csv="name,category,unit\nbutter,dairy,stone\n"), tmp_path / "k.db")
    assert bad.errors and bad.rows == 0
    assert sqlite3.connect(tmp_path / "k.db").execute("select count(*) from items").fetchone() == (3,)


ITEMS, P, R, D = "items_csv", "products_csv", "recipes__more_yaml", "deliveries_csv"
DISH = "name: X\nkind: dish\nyield: 1 plate\ncomponents:\n  - "
HEAD = "received on,supplier,item,received,door temperature,price,price per\n"
BROKEN = [
    (R, DISH + "2 cupp leeks\n", 'recipes/more.yaml:5:5: error: leeks: unknown unit "cupp"  [unit-unknown]'),
    (R, DISH + "2 qt leeks\n", "recipes/more.yaml:5:5: error: leeks: nothing says what 1 qt of it is in g  [unit-no-measure]"),
    (R, DISH + "2 kg leaks\n", 'recipes/more.yaml:5:5: error: there is no "leaks" in items or recipes  [name-unknown]'),
    (R, DISH + "0 kg leeks\n", 'recipes/more.yaml:5:5: error: "0 kg leeks" is not above zero  [quantity-low]'),
    (R, DISH + "1 batch X\n", 'recipes/more.yaml:5:5: error: "X" uses itself  [recipe-itself]'),
    (R, DISH + "some leeks\n", 'recipes/more.yaml:5:5: error: "some leeks" says no quantity  [line-bad]'),
    (R, "name: X\nkind: dish\nyield: 1 plate\n", 'recipes/more.yaml:1:7: error: "X" has no components  [recipe-empty]'),
    (R, "name: X\nkind: soup\n", 'recipes/more.yaml:2:7: error: "soup" is none of the words allowed here  [choice-unknown]'),
    (R, "name: butter\nkind: dish\nyield: 1 plate\n", 'recipes/more.yaml:1:7: error: "butter" is there already  [name-twice]'),
    (R, "name: X\nallergen: milk\n", 'recipes/more.yaml:2:1: error: a recipe has no "allergen"  [column-unknown]'),
    (R, "name: &a X\nkind: dish\n", "recipes/more.yaml:1:7: error: anchors and aliases (& and *) are not read here  [yaml-anchor]"),
    (R, "name: [X\n", "recipes/more.yaml:2:1: error: can't be read as YAML: did not find expected ',' or ']'  [yaml-broken]"),
    (ITEMS, "name,category,unit\n,dairy,g\n", 'items.csv:2, column "name": error: "name" is empty  [cell-empty]'),
    (ITEMS, "name,category,unit,colour\nx,dairy,g,red\n", 'items.csv:1, column "colour": error: there is no column "colour" in items  [column-unknown]'),
    (ITEMS, "name,category,unit,yield\nx,dairy,g,120 %\n", 'items.csv:2, column "yield": error: "120 %" is not between 0 and 100 %  [percent-bad]'),
    (ITEMS, 'name,category,unit\n"x,dairy,g\n', "items.csv:2: error: a quotation mark is opened and never closed  [csv-broken]"),
    (ITEMS, "name,category,unit\nx,dairy,g,more\n", "items.csv:2: error: the row has 4 cells, the header 3  [row-long]"),
    (ITEMS, "name,category,unit\nx\x00,dairy,g\n", "items.csv:2: error: holds a NUL byte  [nul-byte]"),
    ("itmes_csv", "name\nx\n", 'itmes.csv: error: there is no table "itmes"  [table-unknown]'),
    (P, GOOD["products.csv"].replace("45.36", "£45.36"), 'products.csv:2, column "price": error: "£45.36" has a currency in it  [money-bad]'),
    (P, GOOD["products.csv"].replace("20/250 g", "20/x"), "products.csv:2, column \"pack\": error: butter: unknown unit \"x\"  [unit-unknown]"),
    (P, GOOD["products.csv"].replace("milk,2026-09-02,label", "milk,,"),
     'products.csv:2, column "reviewed": error: allergens are declared but nobody is said to have read the label  [review-missing]'),
    (P, GOOD["products.csv"].replace(",milk,", ",mlik,"), 'products.csv:2, column "contains": error: there is no "mlik" in allergens  [name-unknown]'),
    (D, HEAD + "2026-02-31,Dairy,butter,1 kg,,,\n", 'deliveries.csv:2, column "received on": error: "2026-02-31" is not in the calendar  [date-bad]'),
    (D, HEAD + "03/04/2026,Dairy,butter,1 kg,,,\n", 'deliveries.csv:2, column "received on": error: "03/04/2026" can be read two ways  [date-ambiguous]'),
    (D, HEAD + "2026-11-24,Dairy,butter,1 kg,38,,\n", 'deliveries.csv:2, column "door temperature": error: "38" is not a temperature  [temperature-bad]'),
    (D, HEAD + "2026-11-24,Dairy,butter,1 kg,,4.5O,kg\n", 'deliveries.csv:2, column "price": error: "4.5O" is not a number  [money-bad]'),
    (D, HEAD + '2026-11-24,Dairy,butter,"1,5 kg",,,\n', 'deliveries.csv:2, column "received": error: "1,5 kg" has a "," in its number  [number-bad]'),
    (D, HEAD + "2026-11-24,Dairy,butter,-1 kg,,,\n", 'deliveries.csv:2, column "received": error: "-1 kg" is below zero  [quantity-low]'),
    ("kitchen_yaml", "regime: MARS\n", 'kitchen.yaml:1:9: error: "MARS" can\'t be the regime  [setting-bad]'),
]  # fmt: skip


@pytest.mark.parametrize(("name", "text", "expected"), BROKEN, ids=[f"{n}-{b[2].rsplit('[', 1)[1][:-1]}" for n, b in enumerate(BROKEN)])
def test_a_mistake_says_where_and_what(tmp_path: Path, name: str, text: str, expected: str) -> None:
    """The first line of the message, exactly, with a cure below it."""
    folder = kitchen(tmp_path / "k", **{name: text})
    said = [as_text(p).replace(f"{folder}/", "") for p in check(folder).problems]
    assert expected in [s.splitlines()[0] for s in said]
    assert all("Fix: " in s for s in said)


def test_a_loop_is_named_with_its_places(tmp_path: Path) -> None:
    """Both recipes of the loop are cited."""
    text = "name: A\nkind: sub-recipe\nyield: 1 kg\ncomponents:\n  - 1 kg B\n---\nname: B\nkind: sub-recipe\nyield: 1 kg\ncomponents:\n  - 1 kg A\n"
    problems = [p for p in check(kitchen(tmp_path / "k", **{R: text})).problems if p.code == "loop"]
    assert len(problems) == 1 and "A" in problems[0].what and "B" in problems[0].what and "more.yaml:" in problems[0].what


def test_wrong_encodings_links_and_empty_folders(tmp_path: Path) -> None:
    """UTF-16, Latin-1 and a link out of the folder are refused; a byte order mark is not."""
    folder = kitchen(tmp_path / "k")
    (folder / "stations.csv").write_bytes("name\nGrill\n".encode("utf-16"))
    (folder / "surfaces.csv").write_bytes("name\nPlancha à feu\n".encode("latin-1"))
    (folder / "people.csv").write_bytes(b"\xef\xbb\xbfname\r\nMarit\r\n")
    (tmp_path / "outside.csv").write_text("name\nx\n")
    (folder / "equipment.csv").symlink_to(tmp_path / "outside.csv")
    codes = sorted(p.code for p in check(folder).problems)
    assert codes == ["encoding", "encoding", "file-outside"]
    (tmp_path / "empty").mkdir()
    assert [p.code for p in check(tmp_path / "empty").problems] == ["source-empty"]


def test_hostile_workbooks_are_refused(tmp_path: Path) -> None:
    """A locked workbook, a broken one, and one that unpacks to far more than it is."""
    import zipfile

    (tmp_path / "locked.xlsx").write_bytes(bytes.fromhex("d0cf11e0a1b11ae1") + b"\x00" * 600)
    (tmp_path / "broken.xlsx").write_bytes(b"hello")
    with zipfile.ZipFile(tmp_path / "bomb.xlsx", "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("x", b"\x00" * 20_000_000)
    codes = {n: [p.code for p in check(tmp_path / f"{n}.xlsx").problems] for n in ("locked", "broken", "bomb")}
    assert codes == {"locked": ["workbook-locked"], "broken": ["workbook-broken"], "bomb": ["workbook-large"]}


def test_the_demonstration_is_as_large_as_it_says(demo_db: Path) -> None:
    """Suppliers, items, products, sub-recipes to level 6, dishes, cuts, shared surfaces, and something short."""
    db = sqlite3.connect(demo_db)
    least = {
        "select count(*) from suppliers": 12, "select count(*) from items": 160, "select count(*) from products": 220,
        "select count(*) from recipes where kind = 'sub-recipe'": 70, "select count(*) from recipes where kind = 'dish'": 28,
        "select count(*) from recipes where kind = 'cut'": 8, "select count(*) from surfaces": 5,
        "select count(*) from recipes where kind = 'cut' and shrink is not null": 3, "select max(level) from explosion": 6,
        "select count(*) from products where reviewed_on is null": 5, "select count(*) from standing_shortages": 1,
    }  # fmt: skip
    assert {q: db.execute(q).fetchone()[0] for q in least if db.execute(q).fetchone()[0] < least[q]} == {}
    (path,) = db.execute("select path from explosion order by level desc limit 1").fetchone()
    assert len(json.loads(path)) >= 6
