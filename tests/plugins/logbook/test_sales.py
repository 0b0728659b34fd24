"""A till's file into plates sold: by its own columns and names, once however often it is sent."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stillroom.plugins.logbook.sales import Dishes, Sold, nearest, read_mapping, read_till

DISHES = {"brill": "Brill on the bone, buttered samphire", "chop": "Pork chop, apple and mustard"}
DEMO_DISHES = (*DISHES.values(), "Beef rib, horseradish", "Set cream, blackcurrant")
SAID = {"decimal mark": ".", "date order": "ISO"}
MAP = """# our till
dish column = Item
plates column = Qty
day column = Date
sales column = Net
date order = day month year
Brill BOTB = Brill on the bone, buttered samphire
Gift card = -
"""
FILE = (
    "Report;;;\nItem;Qty;Date;Net\nBrill BOTB;3;24/11/2026 19:02;102.00\n"
    "BRILL BOTB;2;24/11/2026;68.00\nGift card;1;24/11/2026;50\n"
)
TODAY = "2026-11-25"


def till(text: str, mapping: str = MAP) -> Any:
    found, problems = read_mapping(mapping)
    assert problems == []
    return read_till(text, found, Dishes(DISHES), TODAY, SAID)


def test_names_columns_and_dates_of_the_till() -> None:
    """Two lines of one dish are one row; what is left out is said; a line above the header is passed over."""
    found = till(FILE)
    assert found.rows == [Sold("brill", DISHES["brill"], "2026-11-24", "", 5, Decimal("170.00"))]
    assert found.left_out == {"Gift card": 1} and not found.problems


def test_an_unknown_name_stops_all_of_it_and_says_the_line_to_add() -> None:
    found = till(FILE + "Porc chop apple;2;24/11/2026;40\n")
    assert found.rows == ()
    assert found.problems == [
        "Line 6: “Porc chop apple” is no dish here. Add to the mapping the dish that it is:"
        " Porc chop apple = Pork chop, apple and mustard. Where it is not a dish of ours: Porc chop apple = -."
    ]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("a,b\n1,2\n", "No line of the file has the column “Item”"),
        ("Item,Qty\nBrill BOTB,2\n", "no column “Date”"),
        ("Item;Qty;Date;Net\nBrill BOTB;two;24/11/2026;1\n", "is not a number"),
        ("Item;Qty;Date;Net\nBrill BOTB;2;24/12/2026;1\n", "has not come yet"),
        ("Item;Qty;Date;Net\nBrill BOTB;2.5;24/11/2026;1\n", "is no number of plates"),
    ],
)
def test_what_is_wrong_is_told_by_line(text: str, words: str) -> None:
    assert words in till(text).problems[0]


def test_a_mapping_says_what_it_lacks() -> None:
    _, problems = read_mapping("plates column = Qty\nnonsense")
    assert len(problems) == 2 and "dish column" in problems[1]


@given(st.text(max_size=200), st.text(max_size=200))
def test_any_text_gets_an_answer(text: str, mapping: str) -> None:
    found, problems = read_mapping(mapping)
    assert read_till(text, read_mapping(MAP)[0], Dishes(DISHES), TODAY, SAID).rows == ()
    assert problems or read_till(text, found, Dishes(DISHES), TODAY, SAID).problems


async def test_the_same_file_twice_and_a_corrected_one(own_db: Path, post: Callable[..., Any]) -> None:
    """Twice is once; a corrected number takes the place of the till's earlier one, and back again works too."""

    async def send(plates: int) -> str:
        text = f"Item;Qty;Date;Net\nBrill BOTB;{plates};24/11/2026;34.00\n"
        answer = await post("/log/sales", text=text, mapping=MAP, do="write")
        assert answer.status_code == 200
        return str(answer.text)

    def standing() -> list[tuple[int]]:
        connection = sqlite3.connect(own_db)
        rows = connection.execute("select plates from standing_plates_sold where request_id like 'till-%'").fetchall()
        connection.close()
        return rows

    assert "1 row written down" in await send(3)
    assert "nothing was added" in await send(3)
    assert standing() == [(3,)]
    await send(4)
    assert standing() == [(4,)]
    await send(3)
    assert standing() == [(3,)]


HAD = {"brill": ["Brill, samphire", "Turbot plate"], "chop": ["Pork plate", "Turbot plate", DISHES["brill"]]}
TWO = "dish column = Item\nplates column = Qty\nBOTB = brill, SAMPHIRE\n"


def sold(*lines: str) -> Any:
    """A till's file, by a mapping that says an earlier name too."""
    return read_till("\n".join(["Item;Qty", *lines]), read_mapping(TWO)[0], Dishes(DISHES, HAD), TODAY, SAID)


def test_a_name_that_a_dish_had_is_understood() -> None:
    """Printed by the till still, or said by a mapping of old; what is written is of the dish, by its present name."""
    found = sold("Brill, Samphire;2", "BOTB;1", "Pork plate;4", f"{DISHES['brill']};1")
    assert [(s.dish_id, s.dish, s.plates) for s in found.rows] == [
        ("brill", DISHES["brill"], 4), ("chop", DISHES["chop"], 4),
    ]  # fmt: skip
    assert found.earlier == {
        "Brill, Samphire": DISHES["brill"], "brill, SAMPHIRE": DISHES["brill"], "Pork plate": DISHES["chop"],
    }  # fmt: skip


def test_a_name_that_two_dishes_had_is_settled_by_the_mapping() -> None:
    """Both are named, with the lines that would mend it; nothing is written."""
    found = sold("Turbot plate;2", "Pork plate;1")
    assert found.rows == () and found.problems == [
        "Line 2: “Turbot plate” was the name of “Brill on the bone, buttered samphire” and of “Pork chop, apple and"
        " mustard”. Add to the mapping: Turbot plate = Brill on the bone, buttered samphire"
        " or Turbot plate = Pork chop, apple and mustard"
    ]
    mended = read_mapping(TWO + "Turbot plate = Pork chop, apple and mustard\n")[0]
    assert read_till("Item;Qty\nTurbot plate;2", mended, Dishes(DISHES, HAD), TODAY, SAID).rows[0].dish_id == "chop"


async def test_the_mapping_that_was_written_with_is_offered_next_time(
    own_db: Path, own_house: Any, post: Callable[..., Any], tmp_path: Path
) -> None:
    """Looked at alone it is not kept; written twice it is kept once; a dump holds it."""
    from stillroom.loaders.dump import dump

    text = "Item;Qty;Date;Net\nBrill BOTB;3;24/11/2026;34.00\n"

    async def offered() -> str:
        page: str = (await own_house.client.get("/log/sales")).text
        return page

    assert "Brill BOTB = Brill on the bone" in await offered() and "An example" in await offered()
    await post("/log/sales", text=text, mapping=MAP, do="look")
    assert "# our till" not in await offered()
    await post("/log/sales", text=text, mapping=MAP, do="write")
    await post("/log/sales", text=text.replace(";3;", ";4;"), mapping=MAP.replace("\n", "\r\n"), do="write")
    assert "# our till" in await offered() and "An example" not in await offered()
    other = MAP.replace("Gift card", "Voucher") + "Gift card = -\n"
    await post("/log/sales", text=text, mapping=other, do="write")
    assert "Voucher = -" in await offered()
    connection = sqlite3.connect(own_db)
    assert connection.execute("select count(*) from till_mappings").fetchone() == (2,)
    with pytest.raises(sqlite3.IntegrityError, match="never changed"):
        connection.execute("update till_mappings set lines = 'x'")
    connection.close()
    dump(own_db, tmp_path / "files")
    assert "Voucher = -" in (tmp_path / "files" / "till_mappings.csv").read_text("utf-8")


def test_a_name_that_is_no_dish_is_offered_the_nearest_one_first() -> None:
    """Half a dish's name is enough; where none is near, the line still asks for a dish before it leaves sales out."""
    assert nearest("Beef rib", DEMO_DISHES) == "Beef rib, horseradish"
    assert nearest("CHOP PORK", DEMO_DISHES) == "Pork chop, apple and mustard"
    assert nearest("Gift card", DEMO_DISHES) == ""
    (told,) = till("Item;Qty;Date;Net\nCrème caramel;2;24/11/2026;40\n").problems
    asked = "Add to the mapping the dish that it is: Crème caramel = name of the dish."
    assert told.index(asked) < told.index("Where it is not a dish of ours: Crème caramel = -")


async def test_a_workbook_is_told_as_one_and_not_shown_as_letters(post: Callable[..., Any]) -> None:
    answer = await post("/log/sales", text="PK\x03\x04\x14\x00", mapping=MAP, do="write")
    said = answer.text
    assert "save its sheet as CSV" in said and "PK\x03" not in said and "written down." not in said


async def test_plates_written_by_hand_are_not_counted_again_unasked(own_db: Path, post: Callable[..., Any]) -> None:
    """Three by hand at dinner and the same three in a file without services would be six: asked before it is written.

    At another service they are other plates, and so are those of another day.
    """
    dish = "Brill on the bone, buttered samphire"
    assert (await post("/log/plates", of=dish, plates="3", service="dinner")).status_code == 303

    def plates() -> list[int]:
        connection = sqlite3.connect(own_db)
        rows = connection.execute(
            "select plates from standing_plates_sold where recipe_id like 'brill-on%' and origin = 'web' order by id"
        ).fetchall()
        connection.close()
        return [number for (number,) in rows]

    text = "Item;Qty;Date;Net\nBrill BOTB;3;25/11/2026;34.00\n"
    asked = (await post("/log/sales", text=text, mapping=MAP, do="write")).text
    assert "3 by hand or in the kitchen's files, 3 in this file: 6 would count" in asked and plates() == [3]
    assert 'name="sure" value="count both"' in asked and 'role="alert"' in asked
    other = "service column = Service\n" + MAP
    lunch = "Item;Qty;Date;Net;Service\nBrill BOTB;2;25/11/2026;34.00;lunch\nBrill BOTB;1;24/11/2026;9.00;dinner\n"
    assert "2 rows written down" in (await post("/log/sales", text=lunch, mapping=other, do="write")).text
    sure = await post("/log/sales", text=text, mapping=MAP, do="write", sure="count both")
    assert "1 row written down" in sure.text and plates() == [3, 1, 2, 3]
