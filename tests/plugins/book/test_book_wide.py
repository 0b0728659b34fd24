"""Cards of kitchens at the edge: names that try to run, an empty kitchen, a recipe of two hundred components."""

from __future__ import annotations

import shutil
import sqlite3
from pathlib import Path
from typing import Any

import pytest
from stillroom.loaders.build import build
from stillroom.loaders.commands import application

DATA = Path(__file__).parents[2] / "data"


async def opened(source: Path, database: Path) -> Any:
    result = build(source, database)
    assert result.errors == 0, result.problems[:3]
    house = application(database)
    await house.invoke_startup()
    return house


async def test_names_that_try_to_run_are_words_on_every_page(tmp_path: Path) -> None:
    """Recipes named after scripts and pictures: cards, large type, labels, list and search show them as text."""
    house = await opened(DATA / "hostile", tmp_path / "k.db")
    with sqlite3.connect(tmp_path / "k.db") as db:
        recipes = [i for (i,) in db.execute("select id from recipes")]
    paths = [f"/recipe/{i}{rest}" for i in recipes for rest in ("", "/read", "/labels", "?batches=3")]
    for path in [*paths, "/recipes", "/search?q=script"]:
        text = (await house.client.get(path)).text
        assert "<script>alert" not in text and "<img src=x" not in text and "alert(" in text, path


async def test_an_empty_kitchen_has_an_empty_book(tmp_path: Path) -> None:
    """Before the first recipe is written the pages say what to do."""
    from stillroom.db.build import create

    with sqlite3.connect(tmp_path / "k.db") as db:
        create(db)
    house = application(tmp_path / "k.db")
    await house.invoke_startup()
    assert "No recipe is written down yet" in (await house.client.get("/recipes")).text
    assert "Nothing of that name" in (await house.client.get("/search?q=butter")).text
    assert (await house.client.get("/batch/1")).status_code == 404


@pytest.mark.parametrize("size", ["", "?to=7.3+kg", "?have=1+lb&thing=thing-7"])
async def test_two_hundred_components_are_a_card(tmp_path: Path, size: str) -> None:
    folder = Path(shutil.copytree(DATA / "mini", tmp_path / "k"))
    items = (folder / "items.csv").read_text("utf-8").splitlines()
    named = {"category": "dry", "unit": "g"}
    head = items[0].split(",")
    for n in range(200):
        items.append(",".join(f"thing {n}" if column == "name" else named.get(column, "") for column in head))
    (folder / "items.csv").write_text("\n".join(items) + "\n", "utf-8")
    lines = "".join(f"  - {n + 1} g thing {n}\n" for n in range(200))
    text = f"name: Big\nkind: sub-recipe\nyield: 20 kg\ncomponents:\n{lines}"
    (folder / "recipes" / "big.yaml").write_text(text, "utf-8")
    house = await opened(folder, tmp_path / "k.db")
    said = (await house.client.get(f"/recipe/big.json{size}")).json()
    assert len(said["components"]) == 200 and said["problem"] is None
    page = await house.client.get(f"/recipe/big{size}")
    assert page.status_code == 200 and page.text.count('class="qty"') == 200
