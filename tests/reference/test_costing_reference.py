"""Costing against printed worked examples; the source stands beside each, and misprints are named."""

from __future__ import annotations

import csv
from fractions import Fraction as F
from importlib.resources import files

import pytest
from stillroom.plugins.costing.butcher import Part, butcher_test, needed, stages
from stillroom.plugins.costing.compute import Choice, cost_all
from stillroom.plugins.costing.house import Component, House, Item, Recipe
from stillroom.plugins.costing.mix import DOG, PLOWHORSE, PUZZLE, STAR, Dish, menu_mix
from stillroom.plugins.costing.prices import LAST, Known, Lot


def test_butcher_test_of_a_rib() -> None:
    """Rib 103 to 109, culinary-school sheet: 28 lb at $1.30; fat, bone and trim credited.

    The sheet prints a new cost of $22.40; its own figures, 36.40 less 8.00, make $28.40.
    """
    parts = [Part("fat", F(3), F("0.10")), Part("bone", F(4), F("0.30")), Part("usable trim", F(5), F("1.30"))]
    found = butcher_test(F(28), F("1.30"), parts)
    assert (found.paid, found.credits, found.usable) == (F("36.40"), F("8.00"), 16)
    assert found.cost == F("28.40") != F("22.40")
    assert found.each == F("1.775")
    assert round(found.factor, 5) == F("1.36538")
    assert round(found.share, 4) == F("0.5714")


def test_butcher_test_without_credits() -> None:
    """The same rib with trim of no value: $2.275 a pound, factor 1.75, which is one over the yield."""
    found = butcher_test(F(28), F("1.30"), [Part("all trim", F(12), F(0))])
    assert (found.each, found.factor) == (F("2.275"), F("1.75"))
    assert found.factor == 1 / found.share


def test_the_second_print_of_the_sheet() -> None:
    """The other print of the sheet has the rib at $4.30 a pound: 28 lb are $120.40."""
    assert butcher_test(F(28), F("4.30"), [Part("all trim", F(12), F(0))]).paid == F("120.40")


def test_tenderloin_yield() -> None:
    """BCcampus, Basic Kitchen and Food Service Management, ch. 12: 2.5 kg less 0.75 kg of trim leave 70.0 %."""
    found = butcher_test(F("2.5"), F(1), [Part("trim", F("0.75"), F(0))])
    assert (found.usable, found.share) == (F("1.75"), F("0.70"))


def test_celery_and_cauliflower_yield() -> None:
    """Traster, Foundations of Cost Control, ch. 4: celery 8 lb to 6 lb 7 oz is 0.8047; cauliflower 17 to 10 lb 0.588.

    The cauliflower slide prints "or 58.5 %": 10/17 is 58.8 %.
    """
    celery, cauliflower = F(6) + F(7, 16), F(10)
    assert round(butcher_test(F(8), F(1), [Part("trim", 8 - celery, F(0))]).share, 4) == F("0.8047")
    assert round(butcher_test(F(17), F(1), [Part("trim", 17 - cauliflower, F(0))]).share, 3) == F("0.588")


def test_edible_and_bought_weights() -> None:
    """Bakery and Business Math, ch. 25: 3 lb zucchini at 95 % are 2.85 lb; 32 oz pears at 78 % need 41.03 oz."""
    assert F(3) * F("0.95") == F("2.85")
    assert needed(F("2.85"), F("0.95")) == 3
    assert round(needed(F(32), F("0.78")), 2) == F("41.03")


def test_stage_yields_multiply() -> None:
    """Trim 0.70, cook 0.80, carve 0.95 leave 0.532 (worked from the textbook rule that stage yields multiply).

    Ribeye aged 21 days leaves 0.693 (Laster et al. 2008, in Dashdorj et al. 2016, table 1): $12.50 in is $18.04 out.
    """
    assert stages(F("0.70"), F("0.80"), F("0.95")) == F("0.532")
    assert round(F("12.50") / stages(F("0.693")), 2) == F("18.04")


def test_contribution_margins() -> None:
    """Principles of Food, Beverage, and Labor Cost Controls: strip steak 23.65 less 7.50 is 16.15; chicken 11.25."""
    steak, chicken = (
        menu_mix([Dish("d", "d", 100, 100 * F(price), F(cost))]).placed[0].margin
        for price, cost in (("23.65", "7.50"), ("16.45", "5.20"))
    )
    assert (steak, chicken) == (F("16.15"), F("11.25"))
    assert steak is not None and chicken is not None and 100 * (steak - chicken) == 490


SOLD, COST, PRICE = (481, 190, 205, 340), ("4.90", "6.50", "5.20", "7.00"), ("12.50", "14.75", "10.60", "16.80")


def test_menu_mix_worked_example() -> None:
    """Kasavana and Smith 1982; letters of Principles of Food, Beverage, and Labor Cost Controls, 9th ed., ch. 11.

    N 1,216; M 9,662.10; O 7.9458 (sales-weighted); K 42.14 %; Q 17.5 %; classes of A to D.
    """
    dishes = [
        Dish(name, name, n, n * F(price), F(cost))
        for name, n, cost, price in zip("ABCD", SOLD, COST, PRICE, strict=True)
    ]
    mix = menu_mix(dishes)
    assert (mix.plates, mix.margin, mix.cost, mix.sales) == (1216, F("9662.10"), F("7037.90"), F("16700.00"))
    assert mix.mean_margin is not None and round(mix.mean_margin, 4) == F("7.9458")
    assert mix.food_cost is not None and round(mix.food_cost * 100, 2) == F("42.14")
    assert mix.popular_from == F("0.175")
    assert [p.klass for p in mix.placed] == [PLOWHORSE, PUZZLE, DOG, STAR]
    shares = [float(p.mix * 100) for p in mix.placed]
    assert shares == pytest.approx([39.56, 15.63, 16.86, 27.96], abs=0.006)


def test_a_plain_mean_of_margins_would_move_a_dish() -> None:
    """The mean is weighted by sales: by the plain mean, 16.75, the dish with a margin of 12 would change class."""
    rows = ((10, 900), (12, 700), (20, 50), (25, 50))
    mix = menu_mix([Dish(str(m), str(m), n, n * F(m), F(0)) for m, n in rows])
    assert mix.mean_margin is not None and mix.mean_margin < 12 < F(10 + 12 + 20 + 25, 4)
    assert mix.placed[1].klass == STAR


def test_equal_counts_as_high() -> None:
    """The print leaves equality open; here two dishes alike in everything are both stars."""
    mix = menu_mix([Dish("a", "a", 10, F(100), F(4)), Dish("b", "b", 10, F(100), F(4))])
    assert [p.klass for p in mix.placed] == [STAR, STAR]


@pytest.mark.parametrize(
    ("food", "refuse"), [("Leeks, (bulb and lower leaf-portion), raw", 56), ("Apples, raw, with skin", 10)]
)
def test_a_published_yield_in_the_cost_of_a_line(food: str, refuse: int) -> None:
    """USDA SR28 (2016), FOOD_DES.txt: what refuse leaves is edible; 100 g of it take 100 / (1 - refuse) as bought."""
    path = files("stillroom.db") / "reference" / "yields.csv"
    rows = csv.DictReader(path.read_text(encoding="utf-8").splitlines())
    published = next(F(r["yield_pct"]) / 100 for r in rows if r["food"] == food)
    assert published == 1 - F(refuse, 100)
    house = House(
        items={"x": Item("x", food, "g", "produce", None, (published, "trim"))},
        recipes={"dish": Recipe("dish", "dish", "dish", F(1), "each")},
        components=[Component(1, "dish", "x", None, F(100), None, "")],
        by_products=[],
        known={"x": Known((Lot("2026-01-01", "a", F(1000), F(3)),))},
        breakdowns=[],
    )
    sheet = cost_all(house, Choice("2026-01-02", LAST))
    assert sheet.costs.of("dish") == F(100) / (1 - F(refuse, 100)) * 3 / 1000
    assert sheet.yields[1].source == "published: trim"
