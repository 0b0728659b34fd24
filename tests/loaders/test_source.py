"""Files as sheets of text: each value with its place, nothing interpreted, long files row by row."""

from __future__ import annotations

import csv
import shutil
import sqlite3
import tracemalloc
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

import pytest
from stillroom.loaders.blank import write_folder, write_workbook
from stillroom.loaders.build import build, check
from stillroom.loaders.source import Sheet, cell_name, read_source
from stillroom.loaders.xlsx_pages import seen

MINI = Path(__file__).parents[1] / "data" / "mini"


def texts(path: Path, table: str) -> list[dict[str, str]]:
    """The filled cells of a table's rows by column."""
    sheets = read_source(path).sheets[table]
    return [{c: v for c, v in zip(s.columns, row.values, strict=True) if v} for s in sheets for row in s.rows]


def one(path: Path, table: str) -> Sheet:
    (sheet,) = read_source(path).sheets[table]
    return sheet


def write(folder: Path, **files: str) -> Path:
    for name, text in files.items():
        path = folder / name.replace("__", "/").replace("_csv", ".csv").replace("_yaml", ".yaml")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text.encode())
    return folder


def test_file_names_and_headers_may_be_spelt_loosely(tmp_path: Path) -> None:
    """Upper case, spaces and _ do not matter, nor do remarks and empty rows."""
    write(
        tmp_path,
        Service_Days_csv="# when we open\n\n Weekday ,SERVICE,opens,closes\nfri,dinner,17:00,22:30\n#,x\n,,,\n",
    )
    assert texts(tmp_path, "service days") == [
        {"weekday": "fri", "service": "dinner", "opens": "17:00", "closes": "22:30"}
    ]
    assert read_source(tmp_path).problems == []


def test_a_row_is_placed_where_it_begins(tmp_path: Path) -> None:
    """A cell with line breaks counts its lines, whatever kind they are; U+2028 inside a cell is none."""
    sheet = one(write(tmp_path, people_csv='name,note\r\n"A\r\nB","x\ny"\r\nC,u\u2028v\r\nD\r\n'), "people")
    assert [(row.number, list(row.values)) for row in sheet.rows] == [
        (2, ["A\r\nB", "x\ny"]), (5, ["C", "u\u2028v"]), (6, ["D", ""]),
    ]  # fmt: skip
    assert str(sheet.place(next(iter(sheet.rows)), "note")) == f'{tmp_path}/people.csv:2, column "note"'


@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_cells_are_parted_by_what_the_header_uses(mark: str, tmp_path: Path) -> None:
    """Comma, semicolon or tab; the others are then part of a text."""
    write(tmp_path, people_csv=f'name{mark}note\nMarit{mark}"a,b;c\td"\n')
    assert texts(tmp_path, "people") == [{"name": "Marit", "note": "a,b;c\td"}]


def test_a_long_file_is_read_row_by_row(tmp_path: Path) -> None:
    """Fifty thousand rows take less than 3 MB; a second time they are read anew."""
    with (tmp_path / "counts.csv").open("w") as file:
        file.write("counted on,of,on hand\n")
        file.writelines(f"2026-11-24,butter,{n} g\n" for n in range(50_000))
    tracemalloc.start()
    sheet = one(tmp_path, "counts")
    for _ in range(2):
        assert sum(1 for _ in sheet.rows) == 50_000
    assert tracemalloc.get_traced_memory()[1] < 3_000_000
    tracemalloc.stop()


def test_a_problem_of_a_row_is_told_once(tmp_path: Path) -> None:
    """However often the rows are gone through."""
    source = read_source(write(tmp_path, people_csv="name\nA,b\nC\n"))
    (sheet,) = source.sheets["people"]
    assert [[list(r.values) for r in sheet.rows] for _ in range(3)] == [[["C"]]] * 3
    assert [p.code for p in source.problems] == ["row-long"] and source.partial == {"people"}


def test_yaml_scalars_stay_what_was_typed(tmp_path: Path) -> None:
    """YAML 1.1 makes false, 90, 8, 1000, nothing, a date and a float of these."""
    words = ["NO", "on", "1:30", "010", "1_000", "~", "2026-11-25", "1e3", "0x1F"]
    write(tmp_path, recipes__a_yaml="name: X\nmethod:\n" + "".join(f"  - {word}\n" for word in words))
    assert [row["step"] for row in texts(tmp_path, "method")] == words


def test_a_recipe_becomes_rows_of_its_tables(tmp_path: Path) -> None:
    """Plain lines, mappings, lists in one cell, several documents and lists of recipes."""
    write(tmp_path, recipes__a_yaml=(
        "# two\nName: Soup\nkind: dish\nsurfaces: [Fryer A, Plancha]\ncomponents:\n  - 2½ qt cream\n"
        "  - line: 1 kg leeks\n    can be left off: yes\nby_products:\n  - item: tops\n    share: 10 %\n"
        "piece: {food: fish, thickness: 20 mm}\ncooking steps:\n  - step: bath\n    at: 136 °F\n  - rest\n"
        "---\n- name: A\n  method: Stir.\n- name: B\n  components:\n"
    ))  # fmt: skip
    assert texts(tmp_path, "recipes") == [
        {"name": "Soup", "kind": "dish", "surfaces": "Fryer A; Plancha"},
        {"name": "A"},
        {"name": "B"},
    ]
    assert texts(tmp_path, "components") == [
        {"recipe": "Soup", "line": "2½ qt cream"},
        {"recipe": "Soup", "line": "1 kg leeks", "can be left off": "yes"},
    ]
    assert texts(tmp_path, "by products") == [{"recipe": "Soup", "item": "tops", "share": "10 %"}]
    assert texts(tmp_path, "pieces") == [{"recipe": "Soup", "food": "fish", "thickness": "20 mm"}]
    assert texts(tmp_path, "cooking steps") == [
        {"recipe": "Soup", "step": "bath", "at": "136 °F"},
        {"recipe": "Soup", "step": "rest"},
    ]
    assert texts(tmp_path, "method") == [{"recipe": "A", "step": "Stir."}]
    assert read_source(tmp_path).problems == []


def test_a_value_in_yaml_is_placed_where_it_stands(tmp_path: Path) -> None:
    """Line and column from 1; a value that is missing, where its row begins."""
    write(
        tmp_path,
        recipes__a_yaml="name: Soup\nkind:  dish\ncomponents:\n  - line: 1 kg leeks\n    yield: 85 %\n",
    )
    recipes, components = one(tmp_path, "recipes"), one(tmp_path, "components")
    (recipe,), (component,) = list(recipes.rows), list(components.rows)
    places = [
        recipes.place(recipe, "kind"),
        recipes.place(recipe, "yield"),
        components.place(component, "yield"),
        components.place(component, "line"),
    ]
    assert [str(p).removeprefix(f"{tmp_path}/recipes/") for p in places] == [
        "a.yaml:2:8",
        "a.yaml:1:1",
        "a.yaml:5:12",
        "a.yaml:4:11",
    ]


def test_settings_keep_their_places(tmp_path: Path) -> None:
    """Text and place of each; _ for a space."""
    source = read_source(write(tmp_path, kitchen_yaml="name: NO\nday_starts: 04:00\n"))
    assert {k: (v.text, v.place.line, v.place.column) for k, v in source.settings.items()} == {
        "name": ("NO", 1, 7), "day starts": ("04:00", 2, 13),
    }  # fmt: skip


@pytest.mark.parametrize(
    ("value", "shown_as", "mark", "text"),
    [
        (2.5, "General", ".", "2.5"), (2.5, "General", ",", "2,5"), (0.1 + 0.2, "General", ".", "0.3"),
        (12.0, "0.00", ".", "12"), (1e15, "General", ".", "1000000000000000"), (0.0000001, "General", ".", "0.0000001"),
        (0.85, "0%", ".", "85 %"), (0.125, "0.0%", ",", "12,5 %"),
        (True, "General", ".", "yes"), (7, "General", ".", "7"),
        (datetime(2026, 11, 24), "dd/mm/yy", ".", "2026-11-24"),
        (datetime(2026, 11, 24, 17, 40), "", ".", "2026-11-24 17:40"),
        (date(2026, 11, 24), "", ".", "2026-11-24"), (time(17, 0), "", ".", "17:00"),
        (timedelta(hours=2, minutes=30), "", ".", "150 min"),
        ("½ lb", "General", ".", "½ lb"),
    ],
)  # fmt: skip
def test_a_cell_is_the_text_a_person_sees(value: Any, shown_as: str, mark: str, text: str) -> None:
    """Dates are ISO, shares of 0.85 shown as 85 % are 85 %, numbers have the kitchen's mark and 15 digits."""
    assert seen(value, shown_as, mark) == text


def test_columns_of_a_sheet_are_lettered() -> None:
    """After Z comes AA."""
    assert [cell_name(n, 7) for n in (0, 25, 26, 701, 702)] == ["A7", "Z7", "AA7", "ZZ7", "AAA7"]


def _as_workbook(path: Path, folder: Path) -> Path:
    """The tables of a folder as sheets, numbers as numbers, with the settings."""
    import xlsxwriter
    import yaml

    with xlsxwriter.Workbook(str(path), {"strings_to_numbers": True}) as book:
        sheet = book.add_worksheet("Kitchen")
        for n, pair in enumerate(yaml.load((folder / "kitchen.yaml").read_text(), yaml.BaseLoader).items()):
            sheet.write_row(n, 0, pair)
        for file in folder.glob("*.csv"):
            sheet = book.add_worksheet(file.stem)
            for n, row in enumerate(csv.reader(file.open(newline=""))):
                sheet.write_row(n, 0, row)
    return path


def test_a_workbook_says_the_same_as_its_folder(tmp_path: Path) -> None:
    """Every table but the recipes, which are written in YAML there; prices lose only their last zeros."""
    book = read_source(_as_workbook(tmp_path / "k.xlsx", MINI))
    folder = read_source(MINI)
    assert book.problems == [] and {k: v.text for k, v in book.settings.items()} == {
        k: v.text for k, v in folder.settings.items()
    }
    for name in book.sheets:
        (a,), (b,) = book.sheets[name], [s for s in folder.sheets[name] if s.path != "recipes"]
        assert a.columns == b.columns
        rows = [[v.removesuffix(".00").replace(".50", ".5") for v in row.values] for row in b.rows]
        assert [[*row.values] for row in a.rows] == rows, name
    place = book.sheets["products"][0].place(next(iter(book.sheets["products"][0].rows)), "pack")
    assert str(place) == f'{tmp_path}/k.xlsx, sheet "products", cell E2'


def test_an_empty_kitchen_has_nothing_wrong(tmp_path: Path) -> None:
    """As folder and as workbook: the examples in it are remarks."""
    write_folder(tmp_path / "k")
    write_workbook(tmp_path / "k.xlsx")
    for path in (tmp_path / "k", tmp_path / "k.xlsx"):
        source = read_source(path)
        assert source.problems == []
        assert [row for sheets in source.sheets.values() for s in sheets for row in s.rows] == []


def test_a_price_list_is_read_under_our_names(tmp_path: Path) -> None:
    """Titles above the header, headings between the lines, columns of no use, a sign before the price."""
    folder = Path(shutil.copytree(MINI, tmp_path / "k"))
    (listed,) = read_source(folder).price_lists
    assert (listed.supplier.text, listed.date.text) == ("Lane Dairy", "2026-11-16")
    assert listed.sheet.columns == ["code", "product", "pack", "price", "price per"]
    rows = [(row.number, list(row.values)) for row in listed.sheet.rows]
    assert (
        rows[0] == (5, ["LD-1", "FARM BUTTER LTLY SLTD 20X250G", "20/250 g", "46.00", "pack"])
        and len(rows) == 3
    )
    first = next(iter(listed.sheet.rows))
    assert (
        str(listed.sheet.place(first, "pack"))
        == f'{folder}/price_lists/lane-november.csv:5, column "Pack Size"'
    )


def test_a_price_list_in_a_workbook(tmp_path: Path) -> None:
    """Its own sheet, merged titles and all, with the cell of each value."""
    from openpyxl import Workbook

    book = Workbook()
    book.active.title = "Terms"
    sheet = book.create_sheet("November")
    for row in ([], ["Lane Dairy prices"], [], [None, "Price", "Line", "Code"], [None, 46, "BUTTER", "LD-1"]):
        sheet.append(row)
    sheet.merge_cells("A2:D2")
    mapping = "file: l.xlsx\nsheet: november\nsupplier: Lane Dairy\ndate: 2026-11-16\n"
    mapping += "columns: {code: Code, price: Price}\n"
    write(tmp_path, price_lists__l_yaml=mapping)
    book.save(tmp_path / "price_lists" / "l.xlsx")
    source = read_source(tmp_path)
    assert source.problems == []
    listed = source.price_lists[0].sheet
    (row,) = listed.rows
    assert str(listed.place(row, "price")).endswith('l.xlsx, sheet "November", cell B5')
    assert row.values[listed.columns.index("price")] == "46"


def test_a_hidden_sheet_of_a_price_list_is_not_its_first(tmp_path: Path) -> None:
    """Last year's prices, hidden by the supplier, are not this year's; they can be named."""
    from openpyxl import Workbook

    book = Workbook()
    book.active.title, book.active.sheet_state = "Old", "hidden"
    now = book.create_sheet("Now")
    for sheet, price in ((book.active, 11), (now, 46)):
        sheet.append(["Code", "Price"])
        sheet.append(["LD-1", price])
    mapping = "file: l.xlsx\nsupplier: Lane Dairy\ndate: 2026-11-16\ncolumns: {code: Code, price: Price}\n"
    write(tmp_path, price_lists__l_yaml=mapping)
    book.save(tmp_path / "price_lists" / "l.xlsx")
    for more, price in (("", "46"), ("sheet: old\n", "11")):
        write(tmp_path, price_lists__l_yaml=mapping + more)
        (row,) = read_source(tmp_path).price_lists[0].sheet.rows
        assert "".join(row.values) == f"LD-1{price}"


def test_a_title_with_commas_above_a_list_parted_by_semicolons(tmp_path: Path) -> None:
    """What parts the cells is asked of the line with the headers, not of the first."""
    mapping = "file: l.csv\nsupplier: Lane Dairy\ndate: 2026-11-16\ncolumns: {code: Code, price: Price}\n"
    listed = "Lane, dairy, prices, week 47\nCode;Price\nLD-1;46\n"
    write(tmp_path, price_lists__l_yaml=mapping, price_lists__l_csv=listed)
    source = read_source(tmp_path)
    assert source.problems == []
    assert [list(row.values) for row in source.price_lists[0].sheet.rows] == [["LD-1", "46"]]


@pytest.mark.parametrize(("code", "said", "is_quoted"), [
    ("LD-1", "00LD-1", True), ("0099", "99", True), ("99", "0099", True), ("99", "990", False),
])  # fmt: skip
def test_zeros_before_a_code_do_not_matter(code: str, said: str, is_quoted: bool, tmp_path: Path) -> None:
    """A spreadsheet drops them, and the price of the day stayed out without a word."""
    folder = Path(shutil.copytree(MINI, tmp_path / "k"))
    for path, old, new in (("products.csv", "LD-1", code), ("price_lists/lane-november.csv", "LD-1", said)):
        text = (folder / path).read_text("utf-8")
        (folder / path).write_text(text.replace(old, new), "utf-8")
    quotes = [q for q in check(folder).rows["price_quotes"] if q["quoted_on"] == "2026-11-16" and q["price"] == "46.00"]
    assert bool(quotes) is is_quoted


def test_prices_of_a_list_are_quoted_for_the_products_bought(tmp_path: Path) -> None:
    """£46.00 for 20 packs of 250 g is for 5 kg; clotted cream, which is not bought, is passed over."""
    assert {p.code for p in build(MINI, tmp_path / "k.db").problems} == {"promotion-kept"}
    rows = sqlite3.connect(tmp_path / "k.db").execute(
        "select name, quoted_on, price, priced_quantity from price_quotes join products on products.id = product_id"
        " where supplier_id = 'lane-dairy' order by name, quoted_on"
    )
    assert rows.fetchall() == [
        ("Double cream", "2026-11-02", "24.00", "6000"), ("Double cream", "2026-11-16", "24.60", "6000"),
        ("Farm butter", "2026-11-02", "45.00", "5000"), ("Farm butter", "2026-11-16", "46.00", "5000"),
        ("Hen eggs", "2026-11-02", "18.00", "60"),
    ]  # fmt: skip


def test_the_small_kitchen_is_reckoned_by_hand(tmp_path: Path) -> None:
    """One plate of brill: 180 g of it, 20 g of brown butter (25 g of butter), 100 g of leek cream, half a lemon."""
    assert check(MINI).problems == []
    build(MINI, tmp_path / "k.db")
    rows = sqlite3.connect(tmp_path / "k.db").execute(
        "select item_id, quantity from explosion where recipe_id = 'brill-and-leeks'"
    )
    assert dict(rows.fetchall()) == {
        "brill": "180", "butter": "25", "leeks": "100", "cream": "50",
        "walnuts": "20", "flour": "10", "salt": "1", "lemons": "0.5",
    }  # fmt: skip
