"""Pages and files of suppliers on the demonstration kitchen with a few lines written by hand."""

from __future__ import annotations

import csv
import io
import sqlite3
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook
from stillroom.db.connect import tune

HOSTILE = "=cmd|'/c calc'!A1"
NEW = """insert into deliveries (request_id, recorded_at, actor, origin, supplier_id, item_id, received_on, unit,
  kind, due_on, ordered, received, rejected, reject_reason, door_temp_f, price, priced_quantity, document, note)
  values (?, '2026-11-25T00:00:00Z', 'Ines', 'file', 'saltby-dairy', 'sour-cream', '2026-11-25', 'g',
  ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"""
ROWS = (
    ("a", "goods", None, None, "1000", "0", "", None, None, None, "X-1", HOSTILE),
    ("b", "goods", "2026-11-24", "2000", "2000", "500", "<b>split</b>", 60.0, "9", "1000", "X-1", ""),
    ("c", "credit", None, None, "0", "0", "", None, "-4.50", None, "X-1", "for the split tubs"),
)


@pytest.fixture
def written(own_db: Path) -> Path:
    """The demonstration kitchen and three lines more, all of one item on its last day."""
    connection = sqlite3.connect(own_db)
    tune(connection)
    with connection:
        connection.executemany(NEW, ROWS)
    connection.close()
    return own_db


@pytest.fixture
async def client(written: Path) -> Any:
    """A browser's stand-in."""
    from stillroom.loaders.commands import application

    datasette = application(written)
    await datasette.invoke_startup()
    return datasette.client


DAY = "?from=2026-11-25&to=2026-11-25&item=sour-cream"


async def test_credits_are_kept_apart_from_goods(client: Any) -> None:
    """A credit is in no figure; it stands in its own list and as its own kind in the rows."""
    answer = (await client.get("/suppliers/saltby-dairy.json" + DAY)).json()
    kinds = [row["kind"] for row in answer["rows"]]
    assert kinds == ["goods"] * answer["figures"]["lines"] + ["credit"]
    assert answer["rows"][-1]["amount"] == -4.5
    assert "Kept apart from goods" in (await client.get("/suppliers/saltby-dairy" + DAY)).text


async def test_unknown_is_a_dash_and_a_word(client: Any) -> None:
    """No price, no order: said as such, and said that the line is not counted in on time in full."""
    page = (await client.get("/suppliers/saltby-dairy" + DAY)).text
    assert "– no price" in page and "– not known" in page
    assert "no order or no promised day written down" in page and "lines have no price" in page
    row = (await client.get("/suppliers/saltby-dairy.json" + DAY)).json()["rows"][1]
    assert (row["ordered"], row["price per unit"], row["late"], row["door"]) == (None, None, None, None)


async def test_late_short_sent_back_and_warm_stand_on_the_row(client: Any) -> None:
    """2 kg on a day after the promise, 0.5 sent back with its reason as text, 60 °F against 41."""
    page = (await client.get("/suppliers/saltby-dairy" + DAY)).text
    assert "0.5 kg short; 0.5 kg sent back: &lt;b&gt;split&lt;/b&gt;; late, promised 24 November" in page
    assert "15.6 out of range, at most 41 °F (5 °C)" in page and "Door, °C" in page  # 60 °F
    row = (await client.get("/suppliers/saltby-dairy.json" + DAY)).json()["rows"][0]
    assert (row["short"], row["rejected"], row["late"], row["door"], row["price per unit"]) == (
        0.5,
        0.5,
        "late",
        "out of range",
        9.0,
    )


async def test_files_hold_exactly_the_rows_of_the_filter(client: Any) -> None:
    """CSV, XLSX and JSON have the same rows under the same columns; a formula is text in each."""
    said = (await client.get("/suppliers/saltby-dairy.json" + DAY)).json()["rows"]
    text = list(csv.reader(io.StringIO((await client.get("/suppliers/saltby-dairy.csv" + DAY)).text)))
    book = load_workbook(io.BytesIO((await client.get("/suppliers/saltby-dairy.xlsx" + DAY)).content)).active
    cells = [[cell.value for cell in row] for row in book.iter_rows()]
    assert text[0] == cells[0] == list(said[0])
    assert cells[1:] == [list(row.values()) for row in said]
    assert len(text) == len(said) + 1 and text[2][-1] == f"'{HOSTILE}"
    assert book.cell(3, len(cells[0])).data_type == "s"


async def test_a_long_list_says_how_much_is_shown(client: Any) -> None:
    """50 rows on the page, all in the file, and both numbers said."""
    page = (await client.get("/suppliers/saltby-dairy")).text
    lines = (await client.get("/suppliers/saltby-dairy.json")).json()["figures"]["lines"]
    assert lines > 50 and f"showing 50 of {lines}" in page
    assert (
        len((await client.get("/suppliers/saltby-dairy.csv")).text.splitlines()) == lines + 2
    )  # header and the credit


async def test_a_wrong_date_is_said_and_the_usual_span_shown(client: Any) -> None:
    """31 February is not a day; the last day before the first is turned round; hostile text stays text."""
    page = (await client.get("/suppliers/saltby-dairy?from=2026-02-31")).text
    assert 'class="bad"' in page and 'value="2026-05-27"' in page
    assert "turned round" in (await client.get("/suppliers/saltby-dairy?from=2026-11-25&to=2026-11-01")).text
    hostile = "/suppliers/saltby-dairy?item=%3Cscript%3Ex&from=%3Cscript%3Ex"
    assert "<script>x" not in (await client.get(hostile)).text


async def test_the_rule_and_its_section_stand_on_the_page(client: Any) -> None:
    """The limit in its own °F with section, and who decides."""
    page = (await client.get("/suppliers/saltby-dairy")).text
    assert "at most 41 °F (5 °C), FDA Food Code 3-202.11(A)" in page
    assert "local code and the inspector decide" in page


async def test_what_it_reaches_names_dish_and_item(client: Any) -> None:
    """Butter of the dairy reaches the brill; with an item chosen only what that item reaches."""
    dishes = {d["id"]: d["items"] for d in (await client.get("/suppliers/saltby-dairy.json")).json()["dishes"]}
    assert "butter, salted" in dishes["brill-on-the-bone-buttered-samphire"]
    only = (await client.get("/suppliers/saltby-dairy.json?item=sour-cream")).json()["dishes"]
    assert all(d["items"] == ["sour cream"] for d in only) and len(only) < len(dishes)


async def test_the_list_has_every_supplier_and_the_same_figures(client: Any) -> None:
    """A supplier's row in the list is its own record over the same span."""
    listed = {s["id"]: s for s in (await client.get("/suppliers.json")).json()["suppliers"]}
    own = (await client.get("/suppliers/saltby-dairy.json")).json()["figures"]
    assert len(listed) >= 12 and {k: listed["saltby-dairy"][k] for k in own} == own


@pytest.mark.parametrize(("role", "status"), [("server", 403), ("cook", 403), ("chef", 200), ("manager", 200)])
@pytest.mark.parametrize(
    "path", ["/suppliers", "/suppliers.json", "/suppliers/saltby-dairy", "/suppliers/saltby-dairy.csv"]
)
async def test_only_chef_and_manager_see_suppliers(client: Any, path: str, role: str, status: int) -> None:
    """Prices are the office's; files and data are refused as the page is."""
    assert (await _as(client, path, role)).status_code == status


async def _as(client: Any, path: str, role: str) -> Any:
    cookie = client.ds.sign({"a": {"id": role, "role": role}}, "actor")
    return await client.get(path, cookies={"ds_actor": cookie})
