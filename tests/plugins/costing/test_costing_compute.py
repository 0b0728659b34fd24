"""Prices by basis, gaps that stay gaps, yields and where they come from, refusals, what-if, counts against recipes."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction as F

import pytest
from stillroom.plugins.costing.butcher import Part, Refused, butcher_test
from stillroom.plugins.costing.compute import (
    SWITCH,
    Choice,
    alerts,
    bridge,
    cost_all,
    cost_range,
    lacking,
    parts,
    plate,
)
from stillroom.plugins.costing.house import MEASURED, Breakdown, ByProduct, Component, House, Item, Recipe
from stillroom.plugins.costing.mix import Dish, Use, by_group, menu_mix
from stillroom.plugins.costing.prices import AVERAGE, FIFO, LAST, QUOTE, Known, Lot, Quote, odd_lot, price
from stillroom.plugins.costing.whatif import Change, what_if
from stillroom.plugins.costing.whatif_cuts import NotPossible

KNOWN = Known(
    lots=(
        Lot("2026-03-01", "a", F(10), F(10)),
        Lot("2026-03-10", "b", F(30), F(60)),
        Lot("2026-03-20", "a", F(10), F(40)),
    ),
    quotes=(Quote("2026-03-05", "a", F(5)), Quote("2026-03-06", "c", F(3))),
    counts=(("2026-03-21", F(20)),),
)  # fmt: skip


def each(basis: str, day: str = "2026-03-25", days: int = 28) -> F | None:
    """Price on a day."""
    found = price(KNOWN, basis, day, days)
    return None if found is None else found.each


def test_bases() -> None:
    """Last 4; average of 28 days 110 over 50; oldest of the 20 on hand, of the 10th, 2; quote of product a 5."""
    assert (each(LAST), each(AVERAGE), each(FIFO), each(QUOTE)) == (4, F(110, 50), 2, 5)


def test_as_of_a_past_day() -> None:
    """What came later was not known: on the 15th the last delivery cost 2, on 1 February there was none."""
    assert (each(LAST, "2026-03-15"), each(LAST, "2026-02-01"), each(QUOTE, "2026-03-04")) == (2, None, None)


def test_an_average_without_deliveries_says_so() -> None:
    """No delivery in the days of the average: the last one is taken and named as such."""
    found = price(KNOWN, AVERAGE, "2026-05-30", 7)
    assert found is not None and (found.each, found.basis) == (4, LAST)


def priced(*cents: int) -> Known:
    """One delivery a week at these prices, and a quote at the last of them."""
    lots = [Lot(f"2026-01-{1 + 7 * n:02d}", "a", F(1), F(c, 100)) for n, c in enumerate(cents)]
    return Known(tuple(lots), (Quote("2026-01-01", "a", F(cents[-1], 100)),))


@pytest.mark.parametrize(
    "cents, is_so",
    [
        ((795, 789), False),
        ((795, 78900), True),
        ((795, 7950), True),
        ((795, 6360), True),
        ((795, 6359), False),
        ((800, 100), True),
        ((800, 101), False),
        ((795, 780, 795000, 790), False),
        ((795, 79500, 795, 8000), True),
        ((795,), False),
    ],
)
@pytest.mark.parametrize("basis", [LAST, QUOTE])
def test_a_price_far_from_the_usual_is_asked_about(cents: tuple[int, ...], is_so: bool, basis: str) -> None:
    """From 8 times the median of the deliveries before it, or an eighth; one slip among them hides none."""
    known = priced(*cents)
    known = replace(known, lots=known.lots[:-1]) if basis == QUOTE else known
    found = odd_lot(known, basis, "2026-02-15")
    assert (found is not None) is is_so
    assert found is None or found.lot.each == F(cents[-1], 100)


def test_an_older_slip_is_asked_about_while_a_price_holds_it() -> None:
    """The slip of the 8th is in the average of 28 days and on hand, first in first out; not in the last delivery."""
    known = replace(priced(795, 79500, 780), counts=(("2026-01-15", F(2)),))
    day = "2026-01-16"
    found = [odd_lot(known, basis, day) for basis in (LAST, AVERAGE, FIFO)]
    assert [x.lot.on if x else None for x in found] == [None, "2026-01-08", "2026-01-08"]
    assert odd_lot(known, AVERAGE, day, 3) is None


def kitchen(**other: object) -> House:
    """Fish into a cut into a plate with salt; fish 10 then 12 a kg of another product, salt never priced or quoted."""
    lots = (Lot("2026-03-01", "a", F(1000), F(10)), Lot("2026-03-10", "b", F(1000), F(12)))
    house = House(
        items={i: Item(i, i, "g", "fish") for i in ("fish", "salt", "bones")},
        recipes={
            "cut": Recipe("cut", "cut", "cut", F(1), "each", trim=F(1, 2), portion=F(100)),
            "dish": Recipe("dish", "dish", "dish", F(1), "each", price=F(6), target=F(3, 10)),
        },
        components=[
            Component(1, "cut", "fish", None, F(200), None, ""),
            Component(2, "dish", None, "cut", F(1), None, ""),
        ],
        by_products=[ByProduct("cut", "bones", F(50), F(1, 1000))],
        known={"fish": Known(lots)},
        breakdowns=[],
    )
    return replace(house, **other)


def salted() -> House:
    """The same with ten g of salt on the plate."""
    plain = kitchen()
    return replace(plain, components=[*plain.components, Component(3, "dish", "salt", None, F(10), None, "")])


NOW, BEFORE = Choice("2026-03-25", LAST), Choice("2026-03-05", LAST)


def test_a_plate_through_a_cut() -> None:
    """200 g at 12.00 less 50 g of bones at 1.00: 2.40 - 0.05."""
    sheet = cost_all(kitchen(), NOW)
    assert sheet.costs.of("dish") == F("2.35")


def test_a_missing_price_is_a_gap() -> None:
    """No price for salt: no cost, at least 2.35, no upper end, no food cost and no alert."""
    house = salted()
    sheet = cost_all(house, NOW)
    found = plate(house, sheet, "dish")
    assert (found.each, found.share, found.is_over) == (None, None, False)
    assert found.lacks == ("no price for salt",)
    assert found.range is not None and (found.range.low, found.range.high) == (F("2.35"), None)


def test_a_range_from_another_basis() -> None:
    """Salt has a quote only: by last delivery the plate is incomplete, between the ends of what is known."""
    house = salted()
    house = replace(house, known={**house.known, "salt": Known(quotes=(Quote("2026-03-01", "s", F(1, 1000)),))})
    sheet = cost_all(house, NOW)
    assert sheet.costs.of("dish") is None and lacking(house, sheet, "dish") == ["no price for salt"]
    assert cost_range(house, sheet, "dish").high == F("2.36")


def test_credits_above_the_whole_are_refused() -> None:
    """Bones at 100 a kg are worth more than the fish: the cut and the plate have no cost, and the sum is said."""
    house = kitchen(by_products=[ByProduct("cut", "bones", F(50), F(1, 10))])
    sheet = cost_all(house, NOW)
    assert sheet.costs.of("dish") is None
    assert lacking(house, sheet, "dish") == ["credits of cut are 2.60 above what went in"]
    with pytest.raises(Refused, match=r"credits of 5\.00 are above the 4\.00"):
        butcher_test(F(2), F(2), [Part("bones", F(1), F(5))])


def test_parts_over_the_whole_are_refused() -> None:
    """By-products that weigh as much as the piece leave nothing to sell."""
    with pytest.raises(Refused, match="nothing is left"):
        butcher_test(F(2), F(2), [Part("bones", F(2), F(0))])


def test_a_by_product_costs_where_it_is_used() -> None:
    """Bones are never bought: in a stock they cost what the cut was credited, so nothing is lost between the two."""
    plain = kitchen()
    stock = Recipe("stock", "stock", "sub-recipe", F(1), "each")
    house = replace(plain, recipes={**plain.recipes, "stock": stock},
                    components=[*plain.components, Component(4, "stock", "bones", None, F(500), None, "")])  # fmt: skip
    assert cost_all(house, NOW).costs.of("stock") == F("0.50")
    quoted = replace(house, known={**house.known, "bones": Known((), (Quote("2026-01-01", "a", F(2, 1000)),))})
    assert cost_all(quoted, NOW).costs.of("stock") == F("0.50")  # a quote alone is no price for its use either
    assert cost_all(quoted, replace(NOW, basis=QUOTE)).costs.of("stock") == 1
    bought = replace(house, known={**house.known, "bones": Known((Lot("2026-03-02", "a", F(10), F(3, 100)),))})
    assert cost_all(bought, NOW).costs.of("stock") == F("1.50")
    assert cost_all(bought, replace(NOW, day="2026-03-01")).costs.of("stock") == F("0.50")


def test_a_by_product_with_a_quote_alone_has_no_price_either_way() -> None:
    """Credited at its market price, which nobody paid yet: neither cut nor stock has a cost that looks whole."""
    plain = kitchen()
    house = replace(
        plain,
        by_products=[replace(plain.by_products[0], credit=None)],
        recipes={**plain.recipes, "stock": Recipe("stock", "stock", "sub-recipe", F(1), "each")},
        components=[*plain.components, Component(4, "stock", "bones", None, F(500), None, "")],
        known={**plain.known, "bones": Known((), (Quote("2026-01-01", "a", F(2, 1000)),))},
    )
    sheet = cost_all(house, NOW)
    assert [sheet.costs.of(r) for r in ("cut", "stock")] == [None, None]
    assert lacking(house, sheet, "cut") == lacking(house, sheet, "stock") == ["no price for bones"]


def test_yield_order_and_words() -> None:
    """A line's own yield, else the item's, else breakdowns here with n and spread, else the published one."""
    line = Component(3, "dish", "fish", None, F(90), None, "")
    broken = [
        Breakdown("B1", "cut", "2026-03-02", F(1000), {"cut": F(400)}),
        Breakdown("B2", "cut", "2026-03-03", F(1000), {"cut": F(500)}),
    ]
    base = replace(kitchen(breakdowns=broken), components=[*kitchen().components, line])
    published = replace(base.items["fish"], reference=(F(3, 4), "skinned"))
    own = replace(published, own_yield=F(4, 5))

    def says(house: House) -> str:
        return next(p.yields for p in parts(house, cost_all(house, NOW), "dish") if p.key == "fish")

    assert "45.0 % measured here, n 2, 40.0 to 50.0 %" in says(base)
    assert "80.0 % the kitchen's own figure" in says(replace(base, items={**base.items, "fish": own}))
    assert "75.0 % published: skinned" in says(replace(base, items={**base.items, "fish": published}, breakdowns=[]))
    given = replace(base, components=[*kitchen().components, replace(line, own_yield=F(9, 10))])
    assert "90.0 % of this line" in says(given)
    assert "as bought: no yield known" in says(replace(base, breakdowns=[]))


def test_a_cut_as_measured() -> None:
    """Breakdowns gave 40 % where the cut says 50 %, and 10 % bones: 250 g in, 25 g of bones credited."""
    broken = [Breakdown("B1", "cut", "2026-03-02", F(1000), {"cut": F(400)}, {"bones": F(100)})]
    sheet = cost_all(kitchen(breakdowns=broken), replace(NOW, yields=MEASURED))
    assert sheet.costs.of("cut") == F(250) * F(12, 1000) - F(25, 1000)


def test_a_product_switch_is_named() -> None:
    """Fish from another product at another price: one step, the whole difference, called a product switch."""
    house = kitchen()
    steps = bridge(cost_all(house, BEFORE), cost_all(house, NOW), "dish")
    assert steps is not None and [(s.name, s.what, s.money) for s in steps] == [("fish", SWITCH, F("0.40"))]


def test_no_bridge_over_a_gap() -> None:
    """A day without a whole cost has nothing that could add up."""
    house = salted()
    assert bridge(cost_all(house, BEFORE), cost_all(house, NOW), "dish") is None


def test_alert_names_what_did_it() -> None:
    """2.35 of 6.00 is over 30 %: the fish rose 0.40 since."""
    house = kitchen()
    found = alerts(house, cost_all(house, BEFORE), cost_all(house, NOW))
    assert [(a.plate.id, a.rose, a.did) for a in found] == [("dish", True, (("fish", F("0.40")),))]


def test_what_if_a_price_and_a_portion() -> None:
    """Fish at 20.00 a kg: 1.60 more a plate, at 10 plates a week 16.00; a portion of 50 g halves the cut."""
    house = kitchen()
    sheet = cost_all(house, NOW)
    (moved,) = what_if(house, sheet, Change("fish", each=F(20, 1000)), {"dish": F(10)})
    assert (moved.by, moved.weekly) == (F("1.60"), 16)
    (smaller,) = what_if(house, sheet, Change(cut="cut", portion=F(50)), {})
    assert smaller.after == F("1.175")
    assert sheet.costs.of("dish") == F("2.35")


def test_what_if_another_item_without_a_price_is_incomplete() -> None:
    """Salt in the place of fish has no price: the plate is incomplete, not cheap."""
    house = kitchen()
    (moved,) = what_if(house, cost_all(house, NOW), Change("fish", instead="salt"), {})
    assert (moved.after, moved.by, moved.weekly) == (None, None, None)


@pytest.mark.parametrize(
    "change", [Change("fish", each=F(0)), Change("fish", edible=F(2)), Change(line=99, quantity=F(1)),
               Change(cut="none", portion=F(1)), Change("fish", instead="none")])  # fmt: skip
def test_what_cannot_be_is_refused(change: Change) -> None:
    """A price of nothing, a yield over 100 %, lines and cuts that are not there."""
    house = kitchen()
    with pytest.raises(NotPossible):
        what_if(house, cost_all(house, NOW), change, {})


def test_an_incomplete_dish_is_in_no_figure_of_the_mix() -> None:
    """It is listed without a class, and the others are judged as if it were not there."""
    whole = [Dish("a", "a", 10, F(100), F(4)), Dish("b", "b", 30, F(300), F(4))]
    assert menu_mix([*whole, Dish("c", "c", 99, F(990), None)]).mean_margin == menu_mix(whole).mean_margin


def test_used_against_recipes() -> None:
    """Opening 10, bought 5, closing 3: 12 used; recipes say 9, one thrown away: 3 beyond, 1 of it known."""
    use = Use("x", "fish", F(10), F(5), F(3), F(9), F(1), F(2))
    (group,) = by_group([use])
    assert (use.actual, use.variance) == (12, 3)
    assert (group.actual, group.theory, group.variance, group.waste) == (24, 18, 6, 2)
