"""A past day has its own recipes: the bridge names a recipe's change, and adds up exactly."""

from __future__ import annotations

import shutil
from fractions import Fraction as F
from pathlib import Path
from typing import Any

import pytest

DEMO = Path(__file__).parents[3] / "db" / "demo"
CHOP, DISH = "mutton-loin-chop", "salt-marsh-mutton-loin-celeriac"


@pytest.fixture(scope="module")
def history(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demonstration loaded on 20 November, and again on the 25th with a larger chop and more trim."""
    from stillroom.loaders.build import build

    folder = tmp_path_factory.mktemp("history")
    shutil.copytree(DEMO, folder / "files")
    settings, cuts = folder / "files" / "kitchen.yaml", folder / "files" / "recipes" / "cuts.yaml"
    now, book = settings.read_text("utf-8"), cuts.read_text("utf-8")
    settings.write_text(now.replace("today: 2026-11-25", "today: 2026-11-20"), "utf-8")
    assert build(folder / "files", folder / "kitchen.db").errors == 0
    settings.write_text(now, "utf-8")
    assert "trim: 30 %\nportion: 260 g" in book
    cuts.write_text(book.replace("trim: 30 %\nportion: 260 g", "trim: 33 %\nportion: 280 g"), "utf-8")
    assert build(folder / "files", folder / "kitchen.db").errors == 0
    return folder / "kitchen.db"


@pytest.fixture
async def client(history: Path) -> Any:
    from stillroom.loaders.commands import application

    datasette = application(history)
    await datasette.invoke_startup()
    return datasette.client


async def test_the_bridge_names_recipe_and_yield(client: Any) -> None:
    """The larger portion is a recipe's change, the larger trim a yield; with prices they are the difference."""
    then = (await client.get(f"/cost/{CHOP}.json?on=2026-11-20")).json()
    now = (await client.get(f"/cost/{CHOP}.json?from=2026-11-20")).json()
    steps = {(s["item"], s["what"]): F(s["money"]) for s in now["bridge"]}
    assert sum(steps.values()) == F(now["exact"]) - F(then["exact"])
    saddle = "marsh mutton saddle"
    bought_then, each = F(260) / (F("0.91") * F("0.70")), F(then["items"][0]["price per unit"]).limit_denominator(1000)
    assert steps[saddle, "recipe"] == (F(280) / (F("0.91") * F("0.70")) - bought_then) * each / 1000
    assert steps[saddle, "yield"] == F(280) * (1 / (F("0.91") * F("0.67")) - 1 / (F("0.91") * F("0.70"))) * each / 1000


async def test_a_past_day_is_reckoned_with_its_recipe(client: Any, house: Any) -> None:
    """The dish as of the 20th costs what it costs in a kitchen whose recipe never changed."""
    ever = (await house.client.get(f"/cost/{DISH}.json?on=2026-11-20")).json()["exact"]
    then = (await client.get(f"/cost/{DISH}.json?on=2026-11-20")).json()["exact"]
    now = (await client.get(f"/cost/{DISH}.json")).json()
    assert then == ever and F(now["exact"]) > F(ever)


async def test_the_page_says_which_recipe_changed(client: Any) -> None:
    """The chart, the bridge and the alert of the first page rest on the same days."""
    page = (await client.get(f"/cost/{DISH}?from=2026-11-20")).text
    assert "<td>recipe</td>" in page and "<td>yield</td>" in page
