"""Printed quantity cards against our own scaling, explosion and netting: one size gives what is printed at another.

Sources, published for public programmes and forces of the United States; figures read there, none from memory:

ICN   Institute of Child Nutrition, Child Nutrition Recipe Box, "Corn Pudding USDA Recipe for Adults in CACFP" (CACFP
      Adult Portion Recipe Project): the weights of 25 and of 50 servings side by side; of the measures only what the
      stored copy holds whole. https://theicn.org/cnrb/cnrbstaging2022/cacfp-adult-portion/cacfp-adult-portion-side-dish/
      corn-pudding-usda-recipe-for-cacfp-adult/
SALAD The same, "Chicken Salad USDA Recipe for Schools" (USDA Standardized Recipes Project, 2024): marketing guide,
      what to buy for 50 and for 100 servings. https://theicn.org/cnrb/?p=171238
FNS   USDA Food and Nutrition Service, USDA Recipes for Schools, "Recipe Adjustment, Method 1 (Factor Method)", p. 17:
      the line of a card at 50 and at 100 servings. Copy at https://abcdocz.com/doc/79961/
TM    Armed Forces Recipe Service, TM 10-412 (2003), A. General Information No. 1(2) and 1(3), Recipe Conversion:
      working factor, and its scale of rounding. https://en.wikisource.org/wiki/Page:TM-10-412_(2003).pdf/9, copies at
      https://theodora.com/recipies/general_information/information_for_standardized_recipes_4.html and ..._6.html
NAVY  Mess Management Specialist 1 & C, NAVEDTRA 14163, "Volume Adjustment": the same factor on a volume.
      http://navyadministration.tpub.com/14163/css/Volume-Adjustment-110.htm
"""

from __future__ import annotations

import json
import sqlite3
from datetime import date
from fractions import Fraction as F
from pathlib import Path
from typing import Any

import pytest
from stillroom.db.coming import read_coming
from stillroom.db.cook_units import THIN, say
from stillroom.db.netting import PREP, Calendar, Need, net
from stillroom.db.quantity import read_quantity
from stillroom.db.units import find_unit, to_base

HOST = {"host": "127.0.0.1"}
OZ, LB, TSP, GAL = (find_unit(unit).factor for unit in ("oz", "lb", "tsp", "gal"))
# (recipe, servings of the card, servings it prints beside, lines: item, base unit, at the one, at the other)
CARDS = [
    ("Corn pudding", 25, 50, [  # ICN
        ("whole-wheat flour", "g", "14 oz", "1 lb 12 oz"), ("white cornmeal", "g", "15 oz", "1 lb 14 oz"),
        ("sugar", "g", "8 oz", "1 lb"), ("frozen whole eggs", "g", "4 oz", "8 oz"),
        ("sour cream", "g", "15 oz", "1 lb 14 oz"), ("frozen corn", "g", "2 lb", "4 lb"),
        ("cream style corn", "g", "4 lb", "8 lb"), ("onions", "g", "8 oz", "1 lb"),
        ("flour by measure", "ml", "3 cups", "1 qt 2 cups"),
    ]),
    ("Chicken salad, to buy", 50, 100, [  # SALAD
        ("celery", "g", "2 lb 6 oz", "4 lb 12 oz"), ("white onions", "g", "2 lb 4 oz", "4 lb 8 oz"),
    ]),
    ("A line of a card", 50, 100, [  # FNS
        ("line by weight", "g", "6 lb 6 oz", "12 lb 12 oz"), ("line by measure", "ml", "1 gal 1 qt", "2 gal 2 qt"),
    ]),
    ("Working factor", 100, 348, [("ingredient", "g", "1 lb 4 oz", "4 lb 5 1/2 oz")]),  # TM
    ("Volume adjustment", 100, 333, [  # TM, NAVY
        ("water", "ml", "6 gal", "19 gal 3 qt 1 pt 1 cup 10 tbsp 2 3/4 tsp"),
    ]),
    ("Smaller portions", 100, 261, [("cornstarch", "g", "2 lb", "5.22 lb")]),  # TM, NAVY: 348 of 3 oz instead of 4 oz
]  # fmt: skip
# How far a printed figure may lie from the exact one: half a step of TM's scales, quarter ounces and quarter teaspoons.
ROUNDING = {"g": OZ / 8, "ml": TSP / 8}


def base(text: str, unit: str) -> F:
    """A printed quantity [g or ml]: '1 lb 12 oz', '19 gal 3 qt ...'."""
    total, words = F(0), text.split()
    while words:
        end = next(n for n, word in enumerate(words) if word.isalpha()) + 1
        read = read_quantity(" ".join(words[:end]))
        total, words = total + to_base(read.number, read.unit_text, unit, {}), words[end:]
    return total


@pytest.fixture(scope="module")
def kitchen(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A kitchen that has the cards as its own recipes, read by the loader from lines as cooks write them."""
    from stillroom.loaders.build import build

    folder = tmp_path_factory.mktemp("cards")
    names = {item: unit for _, _, _, lines in CARDS for item, unit, _, _ in lines}
    rows = "".join(f"{item},dry,{unit}\n" for item, unit in names.items())
    (folder / "items.csv").write_text(f"name,category,unit\n{rows}")
    (folder / "recipes").mkdir()
    said = [
        f"name: {json.dumps(name)}\nkind: sub-recipe\nyield: {servings} ea\nleast batch: 0.01\ncomponents:\n"
        + "".join(f"  - {at} {item}\n" for item, _, at, _ in lines)
        for name, servings, _, lines in CARDS
    ]
    (folder / "recipes" / "cards.yaml").write_text("---\n".join(said))
    (folder / "kitchen.yaml").write_text("name: Cards\nunits: US\ntoday: 2026-11-25\n")
    path = folder / "kitchen.db"
    result = build(folder, path)
    assert result.errors == 0, result.problems
    return path


def key(name: str) -> str:
    return name.lower().replace(",", "").replace(" ", "-")


@pytest.mark.parametrize(("name", "servings", "wanted", "lines"), CARDS, ids=[c[0] for c in CARDS])
def test_the_explosion_at_the_other_size_is_what_the_card_prints(
    kitchen: Path, name: str, servings: int, wanted: int, lines: list[tuple[str, str, str, str]]
) -> None:
    """One base unit of the explosion, so many times; and the card's own size is what it prints there, exactly."""
    with sqlite3.connect(kitchen) as connection:
        rows = connection.execute("select item_id, quantity from explosion where recipe_id = ?", (key(name),))
        each = {item: F(quantity) for item, quantity in rows}
    assert len(each) == len(lines)
    for item, unit, at, printed in lines:
        assert each[key(item)] * servings == base(at, unit)
        assert abs(each[key(item)] * wanted - base(printed, unit)) <= ROUNDING[unit]


@pytest.mark.parametrize(("name", "servings", "wanted", "lines"), CARDS, ids=[c[0] for c in CARDS])
def test_netting_asks_for_what_the_card_prints(
    kitchen: Path, name: str, servings: int, wanted: int, lines: list[tuple[str, str, str, str]]
) -> None:
    """So many servings wanted, nothing on hand, batches of a hundredth: the needs of its items."""
    day = date(2026, 11, 25)
    with sqlite3.connect(kitchen) as connection:
        things = read_coming(connection).things
    need = Need(key(name), day, PREP, F(wanted))
    plan = net(things, [need], {}, lambda _thing, _on: F(0), Calendar(day, day, {}))
    (run,) = plan.runs
    assert (run.quantity, run.batches) == (wanted, F(wanted, servings))
    for item, unit, _, printed in lines:
        (asked,) = plan.needs[key(item)]
        assert abs(asked.quantity - base(printed, unit)) <= ROUNDING[unit]


@pytest.mark.parametrize(("name", "servings", "wanted", "lines"), CARDS, ids=[c[0] for c in CARDS])
async def test_the_scaled_card_reads_what_the_card_prints(
    kitchen: Path, name: str, servings: int, wanted: int, lines: list[tuple[str, str, str, str]]
) -> None:
    """/recipe scaled to the other size: exact to the printed rounding; in words within 1 %, as everywhere."""
    from stillroom.loaders.commands import application

    house = application(kitchen)
    await house.invoke_startup()
    found: Any = (await house.client.get(f"/recipe/{key(name)}.json?to={wanted}+ea", headers=HOST)).json()
    rows = {row["name"]: row for row in found["components"]}
    assert (found["yield"], len(rows)) == (str(wanted), len(lines))
    for item, unit, _, printed in lines:
        exact = F(rows[item]["quantity"])
        assert abs(exact - base(printed, unit)) <= ROUNDING[unit]
        said = rows[item]["said"].replace(THIN, "").replace("+", " ")
        assert abs(base(said, unit) - exact) * 100 <= exact


def test_a_working_factor_in_words_is_rounded_as_the_card_rounds_it() -> None:
    """TM: 348 portions, 1.25 lb x 3.48 = 4.35 lb, which it rounds to 4 lb 5 1/2 oz. Ours says the same."""
    shown = say(F("1.25") * F("3.48"), "lb")
    assert F("1.25") * F("3.48") == F("4.35") and shown.text == "4 lb 5½ oz"


def test_a_printed_figure_beyond_its_rounding_is_found() -> None:
    """The check itself: a quarter of an ounce off 4.35 lb is no rounding of it."""
    exact = F("4.35") * LB
    assert abs(exact - base("4 lb 5 1/2 oz", "g")) <= ROUNDING["g"] < abs(exact - base("4 lb 5 1/4 oz", "g"))
    assert abs(F("19.98") * GAL - base("19 gal 3 qt 1 pt 1 cup 10 tbsp 2 1/2 tsp", "ml")) > ROUNDING["ml"]
