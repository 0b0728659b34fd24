"""/guest, /dish and the matrix on the demonstration kitchen, on a kitchen of hostile names, and across a load."""

from __future__ import annotations

import csv
import io
import re
import shutil
import sqlite3
from pathlib import Path
from typing import Any

import pytest
from stillroom.db.allergen_judging import Reason
from stillroom.loaders.build import build
from stillroom.loaders.commands import application
from stillroom.plugins.allergens.draw import together

DATA = Path(__file__).parents[2] / "data"
BRILL = "brill-on-the-bone-buttered-samphire"


async def served(database: Path) -> Any:
    """Datasette on a database."""
    house = application(database)
    await house.invoke_startup()
    return house


def by_id(answer: Any) -> dict[str, Any]:
    """Dishes of /guest.json."""
    return {d["id"]: d for d in answer.json()["dishes"]}


async def test_the_contract_is_exact(house: Any) -> None:
    """The keys that README promises, no more and no fewer; worst reason first."""
    answer = (await house.client.get("/guest.json?avoid=milk&avoid=walnut")).json()
    assert list(answer) == ["as_of", "regime", "avoid", "dishes", "out"]
    assert answer["as_of"] == "2026-11-25" and answer["regime"] == "UK" and answer["avoid"] == ["milk", "walnut"]
    order = ["contains", "may contain", "not reviewed"]
    for dish in answer["dishes"]:
        assert list(dish) == ["id", "name", "verdict", "leave_off", "reasons"]
        assert dish["verdict"] in {"contains", "leave off", "may contain", "not reviewed", "not declared"}
        assert (dish["verdict"] == "leave off") == bool(dish["leave_off"])
        assert (dish["verdict"] == "not declared") == (dish["reasons"] == [])
        strengths = [order.index(r["presence"]) for r in dish["reasons"]]
        assert strengths == sorted(strengths)


@pytest.mark.parametrize(
    "said", ["avoid=millk", "ingredient=garlick", "avoid=milk&avoid=kiwi", "ingredient=%3Cscript%3E"]
)
async def test_no_dish_is_cleared_of_a_word_unknown_here(house: Any, said: str) -> None:
    """A typing mistake never makes a dish read as not declared, and the page says so."""
    answer = await house.client.get(f"/guest.json?{said}")
    assert not {d["verdict"] for d in answer.json()["dishes"]} & {"not declared", "leave off"}
    page = (await house.client.get(f"/guest?{said}")).text
    assert "not known here" in page and "<script>" not in page


async def test_more_than_can_be_asked_clears_no_dish(house: Any) -> None:
    """Nothing of a very long list is silently dropped."""
    many = "avoid=" + "&avoid=".join(f"egg {n}" for n in range(60))
    answer = await house.client.get(f"/guest.json?{many}")
    assert {d["verdict"] for d in answer.json()["dishes"]} <= {"not reviewed", "contains", "may contain"}
    few = "avoid=" + "&avoid=".join(["egg"] * 60)
    assert "not declared" in {d["verdict"] for d in (await house.client.get(f"/guest.json?{few}")).json()["dishes"]}


@pytest.mark.parametrize(
    ("typed", "tapped"), [("dairy", "milk"), ("Prawns", "shrimp"), ("gluten", "gluten_cereal"), ("nuts", "tree_nut")]
)
async def test_a_typed_allergen_is_the_tapped_one(house: Any, typed: str, tapped: str) -> None:
    """Other names of an allergen find at least what its box finds."""
    strength = ["not declared", "leave off", "not reviewed", "may contain", "contains"]
    boxed = by_id(await house.client.get(f"/guest.json?avoid={tapped}"))
    for said in (f"ingredient={typed}", f"avoid={typed}"):
        words = by_id(await house.client.get(f"/guest.json?{said}"))
        assert all(strength.index(words[i]["verdict"]) >= strength.index(boxed[i]["verdict"]) for i in boxed)
        assert {i for i in boxed if words[i]["verdict"] == "not declared"} == {
            i for i in boxed if boxed[i]["verdict"] == "not declared"
        }


async def test_kinds_and_groups_ask_for_each_other(house: Any) -> None:
    """Cod is a fish: whoever avoids fish avoids brill; whoever avoids brill avoids what says no more than 'fish'."""
    here = by_id(await house.client.get("/guest.json?avoid=fish"))
    assert here[BRILL]["verdict"] == "contains"
    assert by_id(await house.client.get("/guest.json?avoid=brill"))[BRILL]["verdict"] == "contains"


async def test_the_page_answers_first_and_gives_the_line_for_the_kitchen(house: Any) -> None:
    """Verdict sections, the note, the path, the dates and the caution."""
    page = re.sub(r"\s+", " ", (await house.client.get("/guest?avoid=milk")).text)
    heads = [page.index(h) for h in ("Not declared in any component", "With a change", "Do not serve on this answer")]
    assert heads == sorted(heads)
    assert "Leave off: Buttered samphire. Leave off: Brown butter; use rapeseed oil in its place." in page
    assert "<b>milk</b> ← Brown butter ← butter, salted" in page
    assert (
        re.search(r"From the records of \d+ \w+", page)
        and "Oldest label read:" in page
        and "confirm with the chef" in page
    )
    assert "brill: short today" in page


async def test_a_dish_says_it_first_and_leads_back_to_the_guest(house: Any) -> None:
    """What it contains stands before the first path; the dishes of this guest are one tap away, other words are not."""
    listed = (await house.client.get("/guest?avoid=milk&ingredient=garlic")).text
    assert f'href="/dish/{BRILL}?avoid=milk&amp;avoid=garlic"' in listed
    page = re.sub(r"\s+", " ", (await house.client.get(f"/dish/{BRILL}?avoid=milk&avoid=garlic&other=1")).text)
    assert page.index('<span class="verdict contains">contains</span> ') < page.index("Allergens, nothing left off")
    assert 'href="/guest?avoid=milk&amp;avoid=garlic">Back to this guest' in page
    assert "Back to this guest" not in (await house.client.get(f"/dish/{BRILL}")).text


def test_one_label_nobody_read_is_one_reason() -> None:
    """Two allergens by the same path and of the same strength are said together, each once and each as not known;
    another path stays apart.
    """
    same, other = ("tart", "flour"), ("tart", "egg")
    found = together([
        Reason("milk", "not reviewed", same), Reason("egg", "not reviewed", same), Reason("egg", "contains", other),
        Reason("xyz", "not reviewed", ()), Reason("abc", "not reviewed", ()), Reason("milk", "not reviewed", same),
    ])  # fmt: skip
    assert [r.allergen for r in found] == ["milk?, egg?", "egg", "xyz?", "abc?"]


@pytest.mark.parametrize("said", ["coeliac", "Celiac disease", "she is a coeliac", "gluten"])
async def test_a_word_for_the_illness_asks_for_what_it_is_about(house: Any, said: str) -> None:
    """The same dishes with the same verdicts as for cereals with gluten."""
    tapped = (await house.client.get("/guest.json?avoid=gluten_cereal")).json()["dishes"]
    found = (await house.client.get("/guest.json", params={"ingredient": said})).json()["dishes"]
    assert {d["id"]: d["verdict"] for d in found} == {d["id"]: d["verdict"] for d in tapped}


@pytest.mark.parametrize(
    "path", ["/guest", "/guest?avoid=milk", f"/dish/{BRILL}", "/allergens", "/guest?ingredient=garlick"]
)
async def test_nothing_says_safe_or_free(house: Any, path: str) -> None:
    """No dish is ever said to be so, by any name."""
    page = (await house.client.get(path)).text.lower()
    assert not re.search(r"\bsafe\b|\bfree\b|-free\b", page)


async def test_one_dish_tells_everything_behind_it(house: Any) -> None:
    """Every entry of the regime's list once, strongest first, with reviews and what the rule asks."""
    dish = (await house.client.get(f"/dish/{BRILL}.json")).json()
    presences = [a["presence"] for a in dish["allergens"]]
    order = ["contains", "may contain", "not reviewed", "not declared"]
    assert len(presences) == 14 and presences == sorted(presences, key=order.index)
    assert {"line": "25 g Brown butter", "can_be_left_off": True} in dish["components"]
    assert {x["item"] for x in dish["labels"]} >= {"butter-salted", "brill"} and dish["short"] == ["brill: short today"]
    chop = (await house.client.get("/dish/pork-chop-apple-and-mustard")).text
    assert "145 °F" in chop and "Local code and the inspector decide; confirm with a probe." in chop


async def test_the_matrix_is_the_same_on_every_carrier(house: Any) -> None:
    """Page, CSV, XLSX and JSON; and each cell is what /guest says before anything is left off."""
    from openpyxl import load_workbook

    data = (await house.client.get("/allergens.json")).json()["dishes"]
    rows = list(csv.reader(io.StringIO((await house.client.get("/allergens.csv")).text, newline="")))
    book = load_workbook(io.BytesIO((await house.client.get("/allergens.xlsx")).content)).active
    assert [[c.value for c in row] for row in book] == rows
    assert [row[0] for row in rows[1:]] == [d["name"] for d in data]
    assert [row[1:15] for row in rows[1:]] == [list(d["presence"].values()) for d in data]
    assert rows[0][-1] == "caution" and all(row[-1].endswith("confirm with the chef") for row in rows[1:])
    milk = by_id(await house.client.get("/guest.json?avoid=milk"))
    for dish in data:
        reasons = milk[dish["id"]]["reasons"]
        assert dish["presence"]["milk"] == (reasons[0]["presence"] if reasons else "not declared")


async def test_hostile_names_are_text(tmp_path: Path) -> None:
    """Markup in the names of a kitchen, dish, recipe, surface, product, tag or label is shown, never run."""
    assert build(DATA / "hostile", tmp_path / "k.db").errors == 0
    house = await served(tmp_path / "k.db")
    dishes = (await house.client.get("/guest.json?avoid=milk")).json()["dishes"]
    assert len(dishes) == 2
    for path in ("/guest?avoid=milk", "/allergens", *(f"/dish/{d['id']}" for d in dishes)):
        page = (await house.client.get(path)).text
        assert not re.search(r"<script>|<img|<svg|<b on", page) and ">49 leeks" not in page
        assert "&lt;script&gt;alert(12)" in page or "&lt;img src=x onerror=alert(14)" in page
    sink = "/guest?ingredient=%22%3E%3Cscript%3Ealert(1)%3C/script%3E&avoid=%22%3E%3Cimg%20src=x%3E"
    page = (await house.client.get(sink)).text
    assert "<script>alert" not in page and "<img" not in page and "not known here" in page


async def test_an_answer_ends_with_the_load_it_came_from(tmp_path: Path) -> None:
    """A declaration that changes between two loads changes the answer at once, load after load."""
    source, database = tmp_path / "kitchen", tmp_path / "k.db"
    shutil.copytree(DATA / "hostile", source)
    products = source / "products.csv"
    text = products.read_text("utf-8")
    seen = []
    house = None
    for contains in ("milk", "", "milk", "", "milk"):
        products.write_text(text.replace(",milk,", f",{contains},"), "utf-8")
        assert build(source, database).errors == 0
        house = house or await served(database)
        for _ in range(2):
            dishes = (await house.client.get("/guest.json?avoid=milk")).json()["dishes"]
        leeks = next(d for d in dishes if d["name"].startswith("Leeks"))
        seen.append("contains" in {r["presence"] for r in leeks["reasons"]})
    assert seen == [True, False, True, False, True]


async def test_a_kitchen_without_dishes_says_so(tmp_path: Path) -> None:
    """An empty file is no mistake."""
    from stillroom.db.build import create

    with sqlite3.connect(tmp_path / "k.db", isolation_level=None) as connection:
        create(connection)
    house = await served(tmp_path / "k.db")
    for path in ("/guest", "/guest?avoid=milk", "/allergens", "/allergens.csv"):
        assert (await house.client.get(path)).status_code == 200


async def test_records_are_of_the_kitchens_own_day(house: Any) -> None:
    """The demonstration stands still: wherever a page says of when its records are, it is that day and no later one."""
    for path in ("/guest?avoid=milk", f"/dish/{BRILL}", "/allergens", "/recipe/oyster-cream"):
        assert "From the records of 25 November." in (await house.client.get(path)).text, path
