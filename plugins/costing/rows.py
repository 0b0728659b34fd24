"""From the kitchen's file to what the computation takes; read once for each state of the file."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Hashable
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any, TypeVar

from stillroom.db.named_sql import load
from stillroom.plugins.costing.compute import Choice, Sheet, cost_all
from stillroom.plugins.costing.house import Breakdown, ByProduct, Component, House, Item, Recipe
from stillroom.plugins.costing.mix import Sold
from stillroom.plugins.costing.prices import ZERO, Entry, Known, Quote, landed

T = TypeVar("T")
KEPT = 64  # answers kept; each belongs to one state of one file
_kept: dict[Hashable, Any] = {}


def ask(connection: sqlite3.Connection, name: str, **said: Any) -> list[tuple[Any, ...]]:
    """Rows of one of the feature's questions."""
    return connection.execute(load("stillroom.plugins.costing")[name], said).fetchall()


def once(connection: sqlite3.Connection, key: Hashable, make: Callable[[], T]) -> T:
    """What `make` returns, made once for each state of the file: every load and every row written makes it anew."""
    path = connection.execute("pragma database_list").fetchone()[2]
    whole = (path, ask(connection, "stamp")[0], key)
    if not path:
        return make()
    if whole not in _kept:
        made = make()
        for old in list(_kept)[: max(0, len(_kept) - KEPT + 1)]:
            _kept.pop(old, None)
        _kept[whole] = made
    result: T = _kept[whole]
    return result


def read_house(connection: sqlite3.Connection) -> House:
    """Everything that a cost is reckoned from."""
    return once(connection, "house", lambda: _house(connection))


def read_sheet(connection: sqlite3.Connection, choice: Choice) -> Sheet:
    """The kitchen costed on a day."""
    return once(connection, choice, lambda: cost_all(read_house(connection), choice))


def _house(connection: sqlite3.Connection) -> House:
    return House(
        items={row[0]: _item(*row) for row in ask(connection, "items")},
        recipes={row[0]: _recipe(*row) for row in ask(connection, "recipes")},
        components=[_component(*row) for row in ask(connection, "components")],
        by_products=[_by_product(*row) for row in ask(connection, "by_products")],
        known=_known(connection),
        breakdowns=_breakdowns(connection),
    )


def _maybe(text: str | None) -> Fraction | None:
    return None if text is None else Fraction(text)


def _item(*row: Any) -> Item:
    i, name, unit, category, own, pct, process = row
    published = (Fraction(str(pct)) / 100, str(process)) if pct else None
    return Item(i, name, unit, category, _maybe(own), published)


def _recipe(*row: Any) -> Recipe:
    i, name, kind, made, unit, section, status, price, target, since, until, shrink, trim, portion = row
    share = None if target is None else Fraction(target) / 100
    known = (_maybe(price), share, since, until, Fraction(shrink), Fraction(trim), _maybe(portion))
    return Recipe(i, name, kind, Fraction(made), unit, section, status, *known)


def _component(*row: Any) -> Component:
    i, recipe, item, sub, quantity, own, text = row
    return Component(i, recipe, item, sub, Fraction(quantity), _maybe(own), text)


def _by_product(recipe: str, item: str, quantity: str, price: str | None, buys: str | None) -> ByProduct:
    credit = Fraction(price) / Fraction(buys) if price is not None and buys else None
    return ByProduct(recipe, item, Fraction(quantity), credit)


def entry(*row: Any) -> Entry:
    """One line of a delivery note."""
    on, kind, supplier, document, item, product, received, rejected, price, buys = row
    came, back = Fraction(received), Fraction(rejected)
    money = None if price is None else abs(Fraction(price))
    if money is not None and kind == "goods":
        money = money / Fraction(buys) * (came - back) if buys and Fraction(buys) else None
    elif money is not None and buys and Fraction(buys) and came:
        money = money / Fraction(buys) * abs(came)
    return Entry(on, kind, supplier, document, item, product, came - back, back, money or None)


def _known(connection: sqlite3.Connection) -> dict[str, Known]:
    lots = landed(entry(*row) for row in ask(connection, "deliveries"))
    quotes: dict[str, list[Quote]] = {}
    for item, on, product, price, buys in ask(connection, "quotes"):
        if Fraction(buys):
            quotes.setdefault(item, []).append(Quote(on, product, Fraction(price) / Fraction(buys)))
    counts: dict[str, dict[str, Fraction]] = {}
    for item, on, quantity in ask(connection, "counts"):
        days = counts.setdefault(item, {})
        days[on] = days.get(on, ZERO) + Fraction(quantity)
    return {
        item: Known(lots.get(item, ()), tuple(quotes.get(item, ())), tuple(counts.get(item, {}).items()))
        for item in {*lots, *quotes, *counts}
    }


def _breakdowns(connection: sqlite3.Connection) -> list[Breakdown]:
    out: dict[str, list[tuple[Any, ...]]] = {}
    for code, *row in ask(connection, "outputs"):
        out.setdefault(code, []).append(tuple(row))
    found = []
    for code, cut, on, came_in in ask(connection, "breakdowns"):
        rows = out.get(code, [])
        parts: dict[str, Fraction] = {}
        for _, item, weight, _ in rows:
            if item is not None:
                parts[item] = parts.get(item, ZERO) + Fraction(weight)
        portions = sum((Fraction(w) for recipe, _, w, _ in rows if recipe is not None), ZERO)
        pieces = sum(n or 0 for recipe, _, _, n in rows if recipe is not None)
        found.append(Breakdown(code, cut, on, Fraction(came_in), portions, parts, pieces))
    return found


def read_sold(connection: sqlite3.Connection, since: str, until: str) -> dict[str, Sold]:
    """Dish -> plates sold between two days, the day of each included, and money taken where it was written."""
    found = {}
    for recipe, plates, unsaid, sales in ask(connection, "sold", since=since, until=until):
        money = sum((Decimal(x) for x in (sales or "").split()), Decimal(0))
        found[recipe] = Sold(recipe, plates, unsaid, Fraction(money))
    return found


MIX_DAYS = 28


def read_weekly(connection: sqlite3.Connection, house: House, day: str) -> dict[str, Fraction]:
    """Dish -> plates a week over the last four weeks; recipes that the file does not know are left out."""
    since = (date.fromisoformat(day) - timedelta(days=MIX_DAYS - 1)).isoformat()
    sold = read_sold(connection, since, day)
    return {r: Fraction(s.plates * 7, MIX_DAYS) for r, s in sold.items() if r in house.recipes}
