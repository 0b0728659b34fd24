"""Labels and batches: the day they say, the millimetres they stand on, and that nothing on them is cut or made up."""

from __future__ import annotations

import re
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stillroom.plugins.book.labels import (
    MOST_LABELS,
    STOCKS,
    Label,
    first_to_end,
    fitted,
    lots_in,
    sheets,
)

SHEET = Path(__file__).parents[3] / "plugins" / "core" / "static" / "labels.css"
LABEL = Label("Oyster cream", "800 ml", "Wed 25 Nov 2026", "Thu 26 Nov 2026", "", "1125-1", "Has fish.", "", "", "/")
MADE = date(2026, 11, 25)


@given(st.integers(1, MOST_LABELS), st.integers(0, 40), st.sampled_from(STOCKS))
def test_as_many_labels_as_asked_for_and_none_on_a_used_place(copies: int, used: int, stock: Any) -> None:
    laid = sheets(LABEL, copies, used, stock)
    assert sum(cell is not None for sheet in laid for cell in sheet) == copies
    assert all(cell is None for cell in laid[0][: used % stock.cells]) and all(len(s) <= stock.cells for s in laid)


def test_an_allergen_line_is_never_cut() -> None:
    """It gets smaller, and where it can't be read any more the label says so and points to the card."""
    for stock in STOCKS:
        for length in range(1, 700, 13):
            made = fitted(Label("x", "", "", "", "", "", "a" * length, "", "", ""), stock)
            assert made.allergens == "a" * length or (made.fit == "over" and "Read them on the card" in made.allergens)


def test_sheets_fit_their_paper_and_the_style_sheet_has_the_same_millimetres() -> None:
    """Labels, gaps and margins of every sheet stay within A4 (ISO 216: 210 x 297 mm) or Letter (8.5 x 11 in)."""
    css = SHEET.read_text("utf-8")
    paper = {"A4": (210, 297), "Letter": (215.9, 279.4)}
    for stock in STOCKS:
        rule = re.search(rf"^\.{stock.id} {{ ([^}}]*grid-template-columns[^}}]*)}}", css, re.M)
        assert rule, stock.id
        if stock.paper == "roll":
            assert f"width: {stock.width:g}mm" in rule[1]
            continue
        top, side, gap = (float(n) for n in re.search(
            r"padding: ([\d.]+)mm ([\d.]+)mm 0;.*column-gap: ([\d.]+)mm", rule[1]).groups())  # type: ignore[union-attr]
        assert f"repeat({stock.across}, {stock.width:g}mm); grid-auto-rows: {stock.height:g}mm" in rule[1]
        wide, high = paper[stock.paper]
        assert abs(2 * side + stock.across * stock.width + (stock.across - 1) * gap - wide) < 0.15, stock.id
        assert 2 * top + stock.down * stock.height <= high + 0.15, stock.id


def test_a_mixture_takes_the_earliest_date_of_its_parts() -> None:
    days = [("a", MADE + timedelta(2)), ("b", MADE + timedelta(1)), ("c", None)]
    assert first_to_end(MADE + timedelta(3), days) == ("b", MADE + timedelta(1))
    assert first_to_end(MADE, days) is None and first_to_end(None, [("c", None)]) is None
    assert lots_in("0528-005; 0528-006;0528-005; ") == ["0528-005", "0528-006"]


async def test_a_label_carries_all_that_a_container_needs(house: Any) -> None:
    path = "/recipe/oyster-cream/labels.json?copies=5&used=3&made=2026-11-24&lot=1124-9&initials=DV"
    said = (await house.client.get(path)).json()
    label = said["label"]
    assert (label["prepared"], label["use_by"]) == ("Tue 24 Nov 2026", "Tue 24 Nov 2026") and said["copies"] == 5
    assert (label["lot"], label["initials"], label["name"]) == ("1124-9", "DV", "Oyster cream")
    assert "fish, milk" in label["allergens"] and "confirm with the chef" in label["records"]
    page = (await house.client.get(path.replace(".json", ""))).text
    assert page.count('class="code"') == 5 and "style=" not in page and "<script>" not in page


@pytest.mark.parametrize(
    ("query", "words"),
    [
        ("copies=0", "whole number from 1 to 300"), ("copies=99999", "whole number from 1 to 300"),
        ("copies=-1", "whole number from 1 to 300"), ("used=21", "whole number from 0 to 20"),
        ("made=2026-02-31", "not in the calendar"), ("made=tomorrow", "not a date"),
        ("use=2026-12-31", "Later than the rule"), ("use=2020-01-01", "Before the day it was made"),
    ],
)  # fmt: skip
async def test_wrong_input_is_told_beside_its_field(house: Any, query: str, words: str) -> None:
    page = (await house.client.get(f"/recipe/brown-butter/labels?{query}")).text
    assert words in page and 'aria-invalid="true"' in page


async def test_a_label_never_gives_more_days_than_the_kitchen_does(house: Any) -> None:
    path = "/recipe/brown-butter/labels.json?made=2026-11-25&use="
    assert (await house.client.get(path + "2026-12-31")).json()["label"]["use_by"] == "Tue 1 Dec 2026"
    assert (await house.client.get(path + "2026-11-27")).json()["label"]["use_by"] == "Fri 27 Nov 2026"


async def test_a_batch_opens_from_its_label(house: Any) -> None:
    sql = "select id, lot_code from standing_batches where recipe_id = 'oyster-cream' order by id desc limit 1"
    number, lot = (await house.get_database("kitchen").execute(sql)).first()
    said = (await house.client.get(f"/batch/{number}.json")).json()
    assert said["lot"] == lot and said["recipe"] == "oyster-cream" and said["lots"] and "fish" in said["allergens"]
    page = (await house.client.get(f"/batch/{number}")).text
    assert "Lots in it" in page and "confirm with the chef" in page and f"/batch/{number}/labels" in page
    stock = next(x for x in said["lots"] if x["batch"])
    below = (await house.client.get(f"/batch/{stock['batch']}.json")).json()
    assert number in [one["id"] for one in below["went_into"]]
    labels = (await house.client.get(f"/batch/{number}/labels.json")).json()["label"]
    assert labels["address"].endswith(f"/batch/{number}") and labels["lot"] == lot


@pytest.mark.parametrize("path", ["/batch/99999999", "/batch/99999999/labels", "/recipe/nothing/labels"])
async def test_what_is_not_there_is_told_in_words(house: Any, path: str) -> None:
    response = await house.client.get(path)
    assert response.status_code == 404 and "There is no" in response.text


async def test_a_corrected_batch_is_found_by_its_old_label_and_one_taken_back_says_so(staffed: Any) -> None:
    """Labels stay on containers when the log is corrected: the old number leads to the entry that stands."""
    import sqlite3

    columns = "recorded_at, actor, origin, recipe_id, made_on, quantity, unit, lot_code"
    with sqlite3.connect(staffed.path) as db:
        add = f"insert into batches (request_id, voids, stands, {columns}) values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
        row = ("2026-11-25T10:00:00Z", "Ruth", "web", "brown-butter", "2026-11-25")
        first = db.execute(add, ("r1", None, 1, *row, "400", "g", "L1")).lastrowid
        second = db.execute(add, ("r2", first, 1, *row, "800", "g", "L1")).lastrowid
    cook = {"cookies": staffed.cookies["cook"]}
    said = (await staffed.house.client.get(f"/batch/{first}.json", **cook)).json()
    assert (said["id"], said["quantity"]) == (second, "800")
    with sqlite3.connect(staffed.path) as db:
        db.execute(add, ("r3", second, 0, *row, "800", "g", "L1"))
    gone = await staffed.house.client.get(f"/batch/{first}", **cook)
    assert gone.status_code == 404 and "taken back" in gone.text
    server = await staffed.house.client.get(f"/batch/{first}", cookies=staffed.cookies["server"])
    assert server.status_code == 403


async def test_a_lot_code_shared_by_a_delivery_is_the_thing_that_is_in_the_recipe(house: Any) -> None:
    """Eggs and carcasses came under LP261120, milk, cream and cheese under SD261124.

    A custard is made of neither carcass nor cheese, and ends with its own days, not with theirs.
    """
    sql = "select id from standing_batches where lot_code = '1125-599'"
    (number,) = (await house.get_database("kitchen").execute(sql)).first()
    lots = [(x["code"], x["name"]) for x in (await house.client.get(f"/batch/{number}.json")).json()["lots"]]
    assert lots == [("SD261124", "whole milk"), ("SD261124", "double cream"), ("LP261120", "egg")]
    label = (await house.client.get(f"/batch/{number}/labels.json")).json()["label"]
    assert label["use_by"] == "Fri 27 Nov 2026"
    sql = "select max(id) from standing_batches where recipe_id = 'white-chicken-stock' and from_lots = 'LP261120'"
    (stock,) = (await house.get_database("kitchen").execute(sql)).first()
    page = (await house.client.get(f"/batch/{stock}/labels")).text
    assert "chicken carcasses LP261120 ends" in page
