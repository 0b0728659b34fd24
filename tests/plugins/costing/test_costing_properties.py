"""What must hold for any kitchen: parts make the whole, bridges add up, scaling scales, the sweep is the explosion."""

from __future__ import annotations

import sqlite3
from dataclasses import replace
from fractions import Fraction as F

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from stillroom.db.graph import Line, explode
from stillroom.plugins.costing.butcher import BY_VALUE, BY_WEIGHT, Product, Refused, in_units, share_cost, split
from stillroom.plugins.costing.compute import Choice, bridge, cost_all, cost_range, parts
from stillroom.plugins.costing.house import ByProduct, Component, House, Item, Recipe
from stillroom.plugins.costing.prices import LAST, Known, Lot
from stillroom.plugins.costing.sweep import again, amounts, compile_book, sweep

ITEMS = 5
amount = st.fractions(F(1, 100), F(1000), max_denominator=1000)
money = st.integers(1, 5000).map(lambda cents: F(cents, 100))


@st.composite
def graphs(draw: st.DrawFn) -> tuple[dict[str, F], list[Line]]:
    """Recipes that use items and recipes made before them."""
    count = draw(st.integers(1, 6))
    lines: list[Line] = []
    for n in range(count):
        for _ in range(draw(st.integers(1, 4))):
            sub = draw(st.integers(0, n - 1)) if n and draw(st.booleans()) else None
            item = None if sub is not None else f"i{draw(st.integers(0, ITEMS - 1))}"
            lines.append(Line(f"r{n}", len(lines), item, None if sub is None else f"r{sub}", draw(amount)))
    return {f"r{n}": draw(amount) for n in range(count)}, lines


prices_of = st.fixed_dictionaries({f"i{n}": amount for n in range(ITEMS)})


@given(graphs(), prices_of)
def test_the_sweep_is_the_explosion(graph: tuple[dict[str, F], list[Line]], prices: dict[str, F]) -> None:
    """One number a recipe gives the same cost, to the last digit, as one a recipe and item."""
    yields, lines = graph
    costs, exploded = sweep(compile_book(yields, lines), prices), explode(yields, lines)
    assert all(costs.of(r) == exploded.value(r, prices) for r in yields)


RECURSIVE = """
with recursive walk (top, sub, item, quantity) as (
    select c.recipe, c.sub, c.item, c.quantity / r.made from line as c join recipe as r on r.id = c.recipe
    union all
    select walk.top, c.sub, c.item, walk.quantity * c.quantity / r.made
    from walk join line as c on c.recipe = walk.sub join recipe as r on r.id = c.recipe
)
select top, sum(walk.quantity * price.each) from walk join price on price.item = walk.item group by top
"""


@settings(max_examples=40)
@given(graphs(), prices_of)
def test_the_sweep_is_recursive_sql(graph: tuple[dict[str, F], list[Line]], prices: dict[str, F]) -> None:
    """A recursive question to the database, which knows nothing of the sweep, gives the same within its floats."""
    yields, lines = graph
    db = sqlite3.connect(":memory:")
    db.executescript(
        "create table recipe (id, made); create table line (recipe, sub, item, quantity);"
        "create table price (item, each)"
    )
    db.executemany("insert into recipe values (?, ?)", [(k, float(v)) for k, v in yields.items()])
    db.executemany(
        "insert into line values (?, ?, ?, ?)", [(x.recipe, x.sub_recipe, x.item, float(x.quantity)) for x in lines]
    )
    db.executemany("insert into price values (?, ?)", [(k, float(v)) for k, v in prices.items()])
    costs = sweep(compile_book(yields, lines), prices)
    for recipe, found in db.execute(RECURSIVE):
        exact = costs.of(recipe)
        assert exact is not None and float(exact) == pytest.approx(found, rel=1e-9)


@given(graphs(), prices_of, amount)
def test_scaling_a_recipe_scales_its_cost(graph: tuple[dict[str, F], list[Line]], prices: dict[str, F], by: F) -> None:
    """A batch of twice everything costs twice, and a portion of it the same."""
    yields, lines = graph
    last = max(yields)
    scaled = [replace(x, quantity=x.quantity * by) if x.recipe == last else x for x in lines]
    before = sweep(compile_book(yields, lines), prices).of(last)
    more = sweep(compile_book(yields, scaled), prices).of(last)
    same = sweep(compile_book({**yields, last: yields[last] * by}, scaled), prices).of(last)
    assert before is not None and (more, same) == (before * by, before)


@given(graphs(), prices_of, amount)
def test_reckoning_again_is_reckoning_all(graph: tuple[dict[str, F], list[Line]], prices: dict[str, F], new: F) -> None:
    """A change of one price reckoned upwards only gives what a whole new sweep gives."""
    book = compile_book(*graph)
    changed = {**prices, "i0": new}
    partly = again(book, sweep(book, prices), changed, book.reach(["i0"]))
    assert partly == sweep(book, changed)


@given(graphs(), prices_of)
def test_parts_add_up_to_the_whole_to_the_cent(graph: tuple[dict[str, F], list[Line]], prices: dict[str, F]) -> None:
    """Rounded costs of the items of any recipe add up to its rounded cost."""
    book = compile_book(*graph)
    for recipe in graph[0]:
        each = [quantity * prices[item] for item, quantity in amounts(book, recipe).items()]
        whole = sweep(book, prices).of(recipe)
        assert whole is not None and sum(in_units(each)) == round(whole * 100)


weights = st.lists(st.fractions(0, 100, max_denominator=100), min_size=1, max_size=8).filter(lambda w: sum(w) > 0)


@given(st.integers(-(10**6), 10**9), weights, st.data())
def test_shared_costs_add_up(total: int, shares: list[F], data: st.DataObject) -> None:
    """Whatever the method, what the products carry is the cost of the whole, and nobody is off by a whole unit."""
    found = split(total, shares)
    assert sum(found) == total
    assert all(abs(f - total * w / sum(shares)) < 1 for f, w in zip(found, shares, strict=True))
    products = [Product(str(n), w, data.draw(money)) for n, w in enumerate(shares)]
    assert sum(share_cost(total, products, BY_WEIGHT)) == sum(share_cost(total, products, BY_VALUE)) == total


def test_a_missing_market_price_is_refused() -> None:
    """Sharing by market value needs every market price; none is taken for nothing."""
    with pytest.raises(Refused, match="no market price for loin"):
        share_cost(1000, [Product("loin", F(2)), Product("belly", F(1), F(5))], BY_VALUE)


@st.composite
def houses(draw: st.DrawFn) -> House:
    """Two items into a sub-recipe, a cut with a credit, and a dish; prices on two days from one or two products."""
    known = {}
    for item in ("i0", "i1", "i2"):
        days = [("2026-01-01", draw(money)), ("2026-02-01", draw(money))]
        lots = tuple(Lot(on, draw(st.sampled_from("ab")), F(1000), each) for on, each in days)
        known[item] = Known(lots)
    recipes = {
        "sub": Recipe("sub", "sub", "sub-recipe", draw(amount), "g"),
        "cut": Recipe("cut", "cut", "cut", F(1), "each", shrink=F(1, 10), trim=F(1, 5), portion=F(100)),
        "dish": Recipe("dish", "dish", "dish", F(1), "each", price=F(20), target=F(3, 10)),
    }
    components = [
        Component(1, "sub", "i0", None, draw(amount), draw(st.sampled_from([None, F(4, 5)])), ""),
        Component(2, "sub", "i1", None, draw(amount), None, ""),
        Component(3, "cut", "i2", None, F(100) / (F(9, 10) * F(4, 5)), None, ""),
        Component(4, "dish", None, "sub", draw(amount), None, ""),
        Component(5, "dish", None, "cut", F(1), None, ""),
    ]
    credit = ByProduct("cut", "i3", F(10), F(1, 10**6))
    items = {f"i{n}": Item(f"i{n}", f"i{n}", "g", "meat") for n in range(4)}
    return House(items, recipes, components, [credit], known, [])


@given(houses())
def test_a_bridge_adds_up(house: House) -> None:
    """The steps between two days are the whole difference, exactly."""
    before, after = (cost_all(house, Choice(day, LAST)) for day in ("2026-01-15", "2026-02-15"))
    steps, old, new = bridge(before, after, "dish"), before.costs.of("dish"), after.costs.of("dish")
    assert steps is not None and old is not None and new is not None
    assert sum((s.money for s in steps), F(0)) == new - old


@given(houses())
def test_items_are_the_whole(house: House) -> None:
    """What the items of a dish cost, credits taken off, is what the dish costs; its range is that one figure."""
    sheet = cost_all(house, Choice("2026-02-15", LAST))
    whole, spread = sheet.costs.of("dish"), cost_range(house, sheet, "dish")
    assert sum((p.cost or F(0) for p in parts(house, sheet, "dish")), F(0)) == whole == spread.low == spread.high


@st.composite
def rewritten(draw: st.DrawFn, house: House) -> House:
    """The same kitchen with other recipes and yields: quantities, batch, lines, shrink, trim, a credit."""
    components = []
    for c in house.components:
        if c.recipe == "sub" and draw(st.booleans()):
            c = replace(c, quantity=draw(amount), own_yield=draw(st.sampled_from([None, F(1, 2), F(4, 5)])))
        if c.recipe == "cut":
            shrink, trim = draw(st.sampled_from([F(0), F(1, 10)])), draw(st.sampled_from([F(1, 5), F(2, 5)]))
            portion = draw(st.sampled_from([F(100), F(140)]))
            c = replace(c, quantity=portion / ((1 - shrink) * (1 - trim)))
        components.append(c)
    if draw(st.booleans()):
        components = components[1:]
    if draw(st.booleans()):
        components.append(Component(9, "dish", "i1", None, draw(amount), F(9, 10), ""))
    recipes = dict(house.recipes)
    recipes["sub"] = replace(recipes["sub"], made=draw(amount))
    recipes["cut"] = replace(recipes["cut"], shrink=shrink, trim=trim, portion=portion)
    credits = draw(st.sampled_from([house.by_products, [], [replace(house.by_products[0], quantity=F(7))]]))
    return replace(house, components=components, recipes=recipes, by_products=credits)


@given(st.data())
def test_a_bridge_between_two_books_adds_up(data: st.DataObject) -> None:
    """Other recipes, yields, prices and products on the two days: the steps are the whole difference, exactly."""
    old = data.draw(houses())
    new = data.draw(rewritten(old))
    before, after = cost_all(old, Choice("2026-01-15", LAST)), cost_all(new, Choice("2026-02-15", LAST))
    first, last = before.costs.of("dish"), after.costs.of("dish")
    steps = bridge(before, after, "dish")
    if first is None or last is None:  # credits above the whole: no cost, no bridge
        assert steps is None
        return
    assert steps is not None and sum((s.money for s in steps), F(0)) == last - first


@given(houses(), st.sampled_from([F(1, 2), F(4, 5)]))
def test_a_yield_alone_is_a_yield(house: House, share: F) -> None:
    """Where only yields moved, no step is called a recipe's change; where only a quantity moved, none a yield."""
    day = Choice("2026-02-15", LAST)
    yields = [replace(c, own_yield=share) if c.recipe == "sub" else c for c in house.components]
    sizes = [replace(c, quantity=c.quantity * 2) if c.recipe == "sub" else c for c in house.components]
    before = cost_all(house, day)
    for lines, what in ((yields, "yield"), (sizes, "recipe")):
        steps = bridge(before, cost_all(replace(house, components=lines), day), "dish")
        assert {s.what for s in steps or ()} <= {what}
