"""Cards at another size: exact underneath, words that say their rounding, targets that can't be met told in words."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction as F
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stillroom.db.cook_units import CLOSE, Style
from stillroom.plugins.book.compute import OPENED, Card, Line, Recipe, card, card_json, per_plate
from stillroom.plugins.book.targets import Kitchenful, Target, read_target

METRIC = Style("metric")


def line(number: int, name: str, quantity: str, unit: str, **more: Any) -> Line:
    """A line in its base unit; `recipe` in more makes it a sub-recipe."""
    said = {"said_number": F(quantity), "said_text": quantity, "said_unit": "" if unit == "each" else unit}
    item = None if "recipe" in more else name
    plain = {"id": number, "item": item, "recipe": None, "name": name, "quantity": F(quantity), "unit": unit}
    return Line(**{**plain, **said, **more})


BUTTER = Recipe(
    "brown-butter", "Brown butter", "sub-recipe", F(400), "g", "400 g", (line(1, "butter", "500", "g"),), ("Brown it.",)
)
SAUCE = Recipe(
    "sauce", "Sauce", "sub-recipe", F(900), "ml", "900 ml",
    (line(2, "Brown butter", "200", "g", recipe="brown-butter"), line(3, "salt", "9", "g", scales="salt"),
     line(4, "leeks", "850", "g", share=F(85, 100)), line(5, "lemon", "1", "each")),
    ("Whisk.",),
)  # fmt: skip
DISH = Recipe(
    "brill", "Brill", "dish", F(1), "each", "1 plate",
    (line(6, "Sauce", "60", "ml", recipe="sauce"), line(7, "Brown butter", "20", "g", recipe="brown-butter")),
)  # fmt: skip
BOOK = {r.id: r for r in (BUTTER, SAUCE, DISH)}


def of(recipe: str, own: dict[str, F] | None = None) -> Kitchenful:
    return Kitchenful(recipe, BOOK, {"recipe": own or {}}, {"brill": BOOK}, METRIC)


def quantities(made: Card) -> list[F]:
    """Every exact quantity of a card, all that is open within."""
    return [x for row in made.rows for x in (row.exact, *(quantities(row.inside) if row.inside else []))]


sizes = st.fractions(min_value=F(1, 1000), max_value=1000, max_denominator=10**6)


@given(sizes)
def test_scaled_and_scaled_back_is_the_same_quantity_exactly(factor: F) -> None:
    """Nothing goes through a float: a size times its inverse is one batch, to the last digit, at every depth."""
    there = card("brill", factor, BOOK, METRIC)
    back = [x / factor for x in quantities(there)]
    assert back == quantities(card("brill", F(1), BOOK, METRIC))
    assert there.made == factor


@given(sizes, st.sampled_from(["US", "metric", "imperial"]))
def test_what_is_shown_is_never_further_off_than_is_stated(
    read_back: Callable[[str, str], F], factor: F, system: str
) -> None:
    """Mass and volume: within one per cent, and a note wherever the words are not the quantity."""
    for row in card("sauce", factor, BOOK, Style(system)).rows:
        if row.unit != "each" and factor != 1:
            value = read_back(row.said, system)
            assert abs(value / row.exact - 1) <= CLOSE
            assert bool(row.note) == (value != row.exact)


@given(sizes)
def test_a_yield_asked_for_is_the_yield_made(litres: F) -> None:
    """The target is met exactly: 12 l asked for are 12000 ml."""
    target = read_target({"to": f"{litres.numerator}/{litres.denominator} l"}, of("sauce"))
    assert isinstance(target, Target)
    assert card("sauce", target.batches, BOOK, METRIC).made == litres * 1000


@pytest.mark.parametrize(
    ("recipe", "asked", "batches"),
    [
        ("sauce", {"to": "1.8 l"}, "2"),
        ("sauce", {"to": "3 batches"}, "3"),
        ("sauce", {"batches": "2½"}, "5/2"),
        ("brill", {"plates": "40"}, "40"),
        ("sauce", {"plates": "30", "of": "brill"}, "2"),
        ("brown-butter", {"plates": "30", "of": "brill"}, "5/2"),  # 30 x (20 g + 60 ml / 900 ml x 200 g) / 400 g
        ("sauce", {"have": "3.4 kg", "thing": "leeks"}, "17/5"),  # 850 g trimmed are 1 kg as bought
        ("sauce", {"have": "3.4 kg", "thing": "leeks", "trimmed": "yes"}, "4"),
        ("sauce", {"have": "4", "thing": "lemon"}, "4"),
        ("sauce", {"have": "1 kg", "thing": "brown-butter"}, "5"),
    ],
)  # fmt: skip
def test_targets(recipe: str, asked: dict[str, str], batches: str) -> None:
    target = read_target(asked, of(recipe))
    assert isinstance(target, Target) and target.batches == F(batches)


@pytest.mark.parametrize(
    ("asked", "field", "words"),
    [
        ({"to": "0 l"}, "to", "makes nothing"),
        ({"to": "-2 l"}, "to", "makes nothing"),
        ({"to": "999999999999 l"}, "to", "Nobody makes so many"),
        ({"to": "0.0000001 ml"}, "to", "less than anybody can weigh"),
        ({"to": "2 kg"}, "to", "measured in volume: 900 ml is one batch"),
        ({"to": "12"}, "to", "Say the unit too"),
        ({"to": "12 lt and a bit"}, "to", "Unknown unit"),
        ({"to": "a lot"}, "to", "not a number"),
        ({"to": "2-3 l"}, "to", "gives a range"),
        ({"plates": "40"}, "plates", "Choose the dish"),
        ({"plates": "many", "of": "brill"}, "plates", "not a number"),
        ({"have": "3 kg", "thing": "sugar"}, "have", "Choose the component"),
        ({"have": "3 l", "thing": "leeks"}, "have", "measured in weight here"),
        ({"have": "0 kg", "thing": "leeks"}, "have", "makes nothing"),
        ({"batches": "1/0"}, "batches", "not a number"),
        ({"batches": "9" * 400}, "batches", "not a number"),
    ],
)  # fmt: skip
def test_targets_that_cannot_be_met_say_why(asked: dict[str, str], field: str, words: str) -> None:
    wrong = read_target(asked, of("sauce"))
    assert not isinstance(wrong, Target) and wrong is not None
    assert wrong.field == field and words in wrong.words


def test_a_measure_of_its_own_bridges_weight_and_volume() -> None:
    """A recipe that knows its density may be asked for by weight."""
    target = read_target({"to": "1.8 kg"}, of("sauce", {"g": F(1)}))
    assert isinstance(target, Target) and target.batches == 2


def test_one_batch_is_in_the_cooks_own_words_and_others_are_not() -> None:
    one, two = (card("sauce", F(n), BOOK, METRIC) for n in (1, 2))
    assert [row.said for row in one.rows] == ["200 g", "9 g", "850 g", "1"]
    assert [row.said for row in two.rows] == ["400 g", "18 g", "1.7 kg", "2"]
    assert (one.made_said, two.made_said) == ("900 ml", "1.8 l")
    assert card("brill", F(3), BOOK, METRIC).made_said == "3 plates"


def test_a_weight_that_no_cook_wrote_is_said_as_one_would_be() -> None:
    """The primal behind one portion of a cut is reckoned: 20000/49 g are 408 g, 1300/3 g are 433 g; a cook's own 2/3
    stays.
    """
    said = ("20000/49", "1300/3", "2/3")
    lines = tuple(line(n, "saddle", text, "g") for n, text in enumerate(said))
    cut = Recipe("chop", "Chop", "cut", F(1), "each", "1 portion", lines)
    rows = card("chop", F(1), {"chop": cut}, METRIC).rows
    assert [row.said for row in rows] == ["408 g", "433 g", "2/3 g"] and rows[0].exact == F(20000, 49)


def test_what_does_not_scale_straight_carries_its_word_at_every_size() -> None:
    assert [row.word for row in card("sauce", F(2), BOOK, METRIC).rows] == ["", "salt", "", ""]


def test_sub_recipes_open_at_the_quantity_needed() -> None:
    inside = card("brill", F(30), BOOK, METRIC).rows[0].inside
    assert inside is not None and inside.made == 1800 and inside.batches == 2
    deeper = inside.rows[0].inside
    assert deeper is not None and deeper.made == 400 and deeper.batches == 1 and deeper.rows[0].exact == 500


def test_per_plate_adds_up_all_ways() -> None:
    assert per_plate("brill", "brown-butter", BOOK) == 20 + F(60, 900) * 200


def test_a_huge_book_opens_no_more_than_a_page_can_hold() -> None:
    """200 components, each a sub-recipe of 200 lines: the card stays a card, the rest is a tap away."""
    items = tuple(line(n, f"i{n}", "5", "g") for n in range(200))
    below = Recipe("below", "Below", "sub-recipe", F(1000), "g", "1 kg", items)
    lines = tuple(line(n, "Below", "5", "g", recipe="below") for n in range(200))
    top = Recipe("top", "Top", "sub-recipe", F(1000), "g", "1 kg", lines)
    made = card("top", F(7), {"top": top, "below": below}, METRIC)
    assert len(made.rows) == 200 and len(quantities(made)) <= 200 + OPENED
    assert sum(row.inside is not None for row in made.rows) == OPENED // 200


def test_data_carries_exact_numbers() -> None:
    data = card_json(card("sauce", F(1, 3), BOOK, METRIC))
    assert data["yield"] == "300" and data["batches"] == "1/3"
    rows: Any = data["components"]
    assert rows[0]["quantity"] == "200/3" and rows[0]["said"] == "67 g" and "over" in rows[0]["rounding"]
