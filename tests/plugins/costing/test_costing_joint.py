"""Several cuts out of one piece: what each carries, by weight and by market value, and one breakdown in money."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stillroom.plugins.costing.broken import Bought, bought_as, reckon
from stillroom.plugins.costing.butcher import BY_VALUE, BY_WEIGHT
from stillroom.plugins.costing.compute import Choice, cost_all, parts
from stillroom.plugins.costing.cut_pages import cut_test
from stillroom.plugins.costing.house import MEASURED, Breakdown, ByProduct, Component, House, Item, Recipe
from stillroom.plugins.costing.prices import LAST, Known, Lot

DAY = Choice("2026-03-25", LAST)


def saddle(method: str = BY_WEIGHT, shrink: F = F(0), **other: object) -> House:
    """Saddle at 10 a kg: half of it loin (20 a kg ready cut), a quarter neck (8 a kg), a tenth fat at 1 a kg."""
    out = {"loin": (F(1, 2), F(20)), "neck": (F(1, 4), F(8))}
    recipes = {
        name: Recipe(name, name, "cut", F(1), "each", shrink=shrink, trim=1 - share, portion=F(100), joint="saddle",
                     market=price / 1000)
        for name, (share, price) in out.items()
    }  # fmt: skip
    lines = [
        Component(n, name, "saddle", None, F(100) / ((1 - shrink) * share), None, "")
        for n, (name, (share, _)) in enumerate(out.items(), 1)
    ]
    house = House(
        items={i: Item(i, i, "g", "meat") for i in ("saddle", "fat")},
        recipes=recipes,
        components=lines,
        by_products=[ByProduct("loin", "fat", lines[0].quantity / 10, F(1, 1000))],
        known={"saddle": Known((Lot("2026-03-01", "a", F(10_000), F(100)),))},
        breakdowns=[],
        joint_method=method,
    )
    return replace(house, **other)


def portions_of_ten_kilos(house: House, choice: Choice = DAY) -> dict[str, F]:
    """Money of all portions of each cut that ten kg of saddle give: 50 of loin, 25 of neck."""
    costs = cost_all(house, choice).costs
    return {name: (costs.of(name) or F(0)) * count for name, count in (("loin", 50), ("neck", 25))}


def test_by_weight_a_kilogram_costs_the_same() -> None:
    """100 less 1 of credit is 99 over 7.5 kg: 13.20 a kg, so 66 and 33."""
    assert portions_of_ten_kilos(saddle()) == {"loin": F(66), "neck": F(33)}


def test_by_market_value() -> None:
    """5 kg at 20 and 2.5 kg at 8 are 100 and 20: five sixths and one sixth of 99."""
    assert portions_of_ten_kilos(saddle(BY_VALUE)) == {"loin": F("82.5"), "neck": F("16.5")}


def test_the_butcher_test_is_of_the_whole_piece() -> None:
    """Three quarters of the piece are sold: 1 kg of it costs 9.90 after credit, 13.20 a usable kg."""
    house = saddle(BY_VALUE)
    found = cut_test(house, cost_all(house, DAY), "neck", {})
    assert found is not None and found.spec is not None
    assert (found.spec.share, found.spec.cost, found.spec.each) == (F(3, 4), F("9.9"), F("13.2"))
    assert (found.carries, found.mates) == (F(1, 6), ("loin",))
    assert parts(house, cost_all(house, DAY), "neck")[0].yields.startswith("25.0 % as written")


def test_without_a_market_value_by_weight_and_said() -> None:
    """One cut has none: by weight, and the words say so."""
    house = saddle(BY_VALUE)
    house = replace(house, recipes={**house.recipes, "neck": replace(house.recipes["neck"], market=None)})
    sheet = cost_all(house, DAY)
    assert sheet.costs.of("neck") == F("1.32")
    assert "by weight" in sheet.yields[2].source


share = st.fractions(F(1, 20), F(2, 5), max_denominator=60)
cents = st.integers(1, 9000).map(lambda n: F(n, 100_000))


@given(share, share, st.fractions(0, F(1, 5), max_denominator=50), cents, cents, st.sampled_from([BY_WEIGHT, BY_VALUE]))
def test_parts_are_the_whole(loin: F, neck: F, shrink: F, dear: F, cheap: F, method: str) -> None:
    """Whatever a piece gives and however it is shared: all its portions cost what was paid less credits, exactly."""
    house = saddle(method, shrink)
    out = {"loin": (loin, dear), "neck": (neck, cheap)}
    recipes = {n: replace(house.recipes[n], trim=1 - s, market=p) for n, (s, p) in out.items()}
    lines = [replace(c, quantity=F(100) / ((1 - shrink) * out[c.recipe][0])) for c in house.components]
    fat = ByProduct("loin", "fat", lines[0].quantity / 10, F(1, 1000))
    costs = cost_all(replace(house, recipes=recipes, components=lines, by_products=[fat]), DAY).costs
    whole = sum(((costs.of(n) or F(0)) * (1 - shrink) * s * 10_000 / 100 for n, (s, _) in out.items()), F(0))
    assert whole == 100 - 1


def broken(**other: object) -> Breakdown:
    """Ten kg on the block: 5.2 of loin in 52 portions, 2.3 of neck, 1 of fat, the rest lost."""
    out = {"loin": F(5200), "neck": F(2300)}
    one = Breakdown("B1", "loin", "2026-03-10", F(10_000), out, {"fat": F(1000)}, {"loin": 52})
    return replace(one, **other)


def test_as_measured_the_breakdown_speaks() -> None:
    """5.2 and 2.3 kg of 7.5: each kg costs 13.20 still, so a portion of 100 g 1.32."""
    costs = cost_all(saddle(breakdowns=[broken()]), Choice("2026-03-25", LAST, 28, MEASURED)).costs
    assert costs.of("loin") == costs.of("neck") == F("1.32")


def test_a_breakdown_to_the_cent() -> None:
    """By value 104 and 18.40 of 122.40: 84.12 and 14.88 of 99.00; the fat is worth 1.00 and 1.5 kg are lost."""
    house = saddle()
    found = reckon(house, cost_all(house, DAY), broken(), Bought(F(10_000), F(100), "here"), BY_VALUE)
    assert found.test is not None and (found.test.credits, found.test.cost) == (F(1), F(99))
    assert {c.id: c.cents for c in found.carried} == {"loin": 8412, "neck": 1488}
    assert found.carried[0].each == F(8412, 5200) and {p.name: p.weight for p in found.parts} == {
        "fat": F(1), "loss at the block": F(3, 2)}  # fmt: skip


@given(st.integers(1, 10**6), st.tuples(*[st.integers(1, 5000)] * 2), st.sampled_from([BY_WEIGHT, BY_VALUE]))
def test_what_cuts_carry_adds_up(paid: int, grams: tuple[int, int], method: str) -> None:
    """To the smallest unit, for any money and weights."""
    house = saddle()
    one = broken(out=dict(zip(("loin", "neck"), map(F, grams), strict=True)), parts={})
    found = reckon(house, cost_all(house, DAY), one, Bought(F(10_000), F(paid, 100), "here"), method)
    assert not found.refused and sum(c.cents for c in found.carried) == paid


def test_a_piece_of_one_cut_needs_no_market_value() -> None:
    """All of the cost is its own, whatever the method."""
    house = saddle(BY_VALUE)
    house = replace(house, recipes={**house.recipes, "loin": replace(house.recipes["loin"], market=None)})
    one = broken(out={"loin": F(5200)})
    found = reckon(house, cost_all(house, DAY), one, Bought(F(10_000), F(100), "here"), BY_VALUE)
    assert [c.cents for c in found.carried] == [9900]


def test_drying_is_a_loss_of_the_piece() -> None:
    """Bought at 11 kg, 10 on the block: a kg is dried away, and usable kg cost more."""
    house = saddle()
    found = reckon(house, cost_all(house, DAY), broken(), Bought(F(11_000), F(110), "here"), BY_WEIGHT)
    assert found.test is not None and found.test.each == F(109) / F("7.5")
    assert [p.weight for p in found.parts if p.name == "dried away"] == [F(1)]


@pytest.mark.parametrize(
    ("one", "bought", "words"),
    [
        (broken(out={"loin": F(9500)}), Bought(F(10_000), F(100), ""), "weighs 10,500 g, what went in 10,000 g"),
        (broken(), Bought(F(9_000), F(100), ""), "weighed more at the block"),
        (broken(), Bought(F(10_000), F("0.5"), ""), "credits of 1.00 are above the 0.50"),
        (broken(parts={"bones": F(10)}), Bought(F(10_000), F(100), ""), "no price for bones"),
        (broken(), None, "no price for the piece"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_with_the_sums(one: Breakdown, bought: Bought | None, words: str) -> None:
    """More out than in, a piece that gained weight, credits above the whole, a part or a piece without a price."""
    house = saddle()
    found = reckon(house, cost_all(house, DAY), one, bought, BY_WEIGHT)
    assert words in found.refused and found.test is None and found.carried == ()


def test_a_piece_without_a_lot_is_bought_at_its_item() -> None:
    """10 kg on the block of a saddle that dries 20 %: 12.5 kg at 10."""
    house = saddle(shrink=F(1, 5))
    found = bought_as(house, cost_all(house, DAY), broken())
    assert found is not None and (found.weight, found.paid) == (F(12_500), F(125))
