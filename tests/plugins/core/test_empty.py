"""A kitchen on its first evening: each page answers, and where nothing is yet it says so, not by an empty list."""

from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest
from stillroom.loaders.blank import write_folder
from stillroom.loaders.build import build
from stillroom.loaders.commands import application

ROUTES = csv.DictReader((Path(__file__).parents[2] / "data" / "routes.csv").read_text("utf-8").splitlines())
# Addresses without a thing of the demonstration in them, and without an ending of their own.
PLAIN = sorted({row["address"] for row in ROUTES if re.fullmatch(r"(/[a-z-]+)*/?", row["address"])})
HIDDEN = re.compile(r"<section[^>]* hidden>.*?</section>", re.S)  # filled by a script as things are begun
LISTS = re.compile(r"<tbody>\s*</tbody>|<ul[^>]*>\s*</ul>|<select[^>]*>\s*</select>")


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A kitchen as `stillroom blank` writes it, built."""
    folder = tmp_path_factory.mktemp("empty")
    write_folder(folder / "kitchen")
    assert build(folder / "kitchen", folder / "kitchen.db").errors == 0
    return folder / "kitchen.db"


async def test_no_page_of_an_empty_kitchen_shows_an_empty_list(empty: Path) -> None:
    """Each answers 200, is found nowhere, or takes only a form; and no table or list stands there without a row."""
    house = application(empty)
    await house.invoke_startup()
    shown, bare = 0, []
    for path in [*PLAIN, "/guest?avoid=milk"]:
        answer = await house.client.get(path)
        assert answer.status_code in {200, 302, 303, 404, 405}, path
        shown += answer.status_code == 200
        main = HIDDEN.sub("", answer.text.partition("<main>")[2].partition("</main>")[0])
        bare += [(path, found) for found in LISTS.findall(main)]
    assert bare == [], bare
    assert shown > 30


async def test_what_was_never_written_is_not_said_to_be_done(empty: Path) -> None:
    """Without products no label has been read; without a dish nothing is answered for a guest."""
    house = application(empty)
    await house.invoke_startup()
    paths = ("/reviews", "/guest?avoid=milk", "/orders", "/allergens")
    said = {path: (await house.client.get(path)).text for path in paths}
    assert "No product is written down yet" in said["/reviews"] and "has been read." not in said["/reviews"]
    assert "nothing to answer for" in said["/guest?avoid=milk"]
    assert "No supplier yet" in said["/orders"]
    assert "No dish is on the menu today" in said["/allergens"]


@pytest.mark.parametrize(("pars", "word"), [
    ("", "nothing is asked for here"), ("of,par\nleeks,2 kg\n", "made from pars alone"),
])  # fmt: skip
async def test_orders_say_what_they_do_not_know(pars: str, word: str, tmp_path: Path) -> None:
    """With a supplier, a product, and nothing sold, "nothing has to be ordered" would be a guess."""
    write_folder(tmp_path / "kitchen")
    rows = {"suppliers": "name\nGreen Cart\n", "items": "name,category,unit\nleeks,produce,g\n",
            "products": "supplier,item,product\nGreen Cart,leeks,Leeks\n", "pars": pars or "of,par\n"}  # fmt: skip
    for table, text in rows.items():
        (tmp_path / "kitchen" / f"{table}.csv").write_text(text, "utf-8")
    assert build(tmp_path / "kitchen", tmp_path / "kitchen.db").errors == 0
    house = application(tmp_path / "kitchen.db")
    await house.invoke_startup()
    page = (await house.client.get("/orders")).text
    assert word in page and "Nothing has to be ordered" not in page
