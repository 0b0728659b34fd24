"""From the kitchen's file to what the computation takes; read once for each state of the file."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Any, TypeVar

from stillroom.db.book_versions import Key, Versions, read_versions
from stillroom.db.kitchen import settings
from stillroom.db.named_sql import asker
from stillroom.db.stock import counted
from stillroom.plugins.core.format import OWN_WAY
from stillroom.plugins.costing.compute import Choice, Sheet, cost_all
from stillroom.plugins.costing.door import Entry, landed
from stillroom.plugins.costing.house import Breakdown, ByProduct, Component, House, Item, Recipe
from stillroom.plugins.costing.mix import Sold
from stillroom.plugins.costing.prices import FIFO, ZERO, Known, Lot, Quote

T = TypeVar("T")
KEPT = 64  # answers kept; each belongs to one state of one file
NOT_MADE: Any = object()
_kept: dict[Hashable, Any] = {}


ask = asker("stillroom.plugins.costing")

# What an answer is made from: tables of the stamp. Each grows with every row written, loads with every load.
BOOK = frozenset({"loads", "book_versions"})
PAID = BOOK | {"deliveries"}
CUT = BOOK | {"breakdowns", "breakdown_outputs"}
COUNTED = BOOK | {"counts"}
HOUSE = PAID | CUT | COUNTED
SOLD = BOOK | {"plates_sold"}
ALL = HOUSE | SOLD | {"batch_uses", "ageing_lots"}


def costed_from(choice: Choice) -> frozenset[str]:
    """What costs are made from: counts only where the oldest goods on hand are asked for."""
    return PAID | CUT | (COUNTED if choice.basis == FIFO else frozenset())


def once(connection: sqlite3.Connection, key: Hashable, make: Callable[[], T], of: frozenset[str] = ALL) -> T:
    """What `make` returns, made once for each state of the file: a row written to any table of `of` makes it anew.

    Args:
        key: what is asked for; with the same key always the same `of`.
        of: every table that `make` reads, by the names above.
    """
    path = connection.execute("pragma database_list").fetchone()[2]
    if not path:
        return make()
    stamps: dict[str, int] = dict(ask(connection, "stamp"))
    whole = (path, tuple(number for table, number in stamps.items() if table in of), key, OWN_WAY.get())
    made: T = _kept.pop(whole, NOT_MADE)
    if made is NOT_MADE:
        made = make()
    _kept[whole] = made  # at the end again: what was asked for longest ago goes first
    for old in list(_kept)[: max(0, len(_kept) - KEPT)]:
        _kept.pop(old, None)
    return made


def read_house(connection: sqlite3.Connection, day: str) -> House:
    """Everything that a cost is reckoned from, recipes and yields as they stood on a day."""
    versions = _versions(connection)
    changed = [on for on in versions.days if on > day]  # what a load changed after that day is not known on it
    if not changed:
        return _house_now(connection)
    return once(
        connection, ("house", changed[0]), lambda: _earlier(_house_now(connection), versions.on(day)), HOUSE
    )  # fmt: skip


def _versions(connection: sqlite3.Connection) -> Versions:
    return once(connection, "versions", lambda: read_versions(connection), BOOK)


def _house_now(connection: sqlite3.Connection) -> House:
    return once(connection, "house", lambda: _house(connection), HOUSE)


def read_sheet(connection: sqlite3.Connection, choice: Choice) -> Sheet:
    """The kitchen costed on a day. Its own house may lack the last counts where no cost is made of them."""
    return once(
        connection, choice, lambda: cost_all(read_house(connection, choice.day), choice), costed_from(choice)
    )  # fmt: skip


def _house(connection: sqlite3.Connection) -> House:
    """Made of parts that are kept apart: a row written makes only its own part anew."""
    book = once(connection, "book", lambda: _book(connection), BOOK)
    lots = once(connection, "lots", lambda: _lots(connection, book.items), PAID)
    quotes = once(connection, "quotes", lambda: _quotes(connection), BOOK)
    counts = once(connection, "counts", lambda: _counts(connection), COUNTED)
    known = {
        item: Known(lots.get(item, ()), quotes.get(item, ()), counts.get(item, ()))
        for item in {*lots, *quotes, *counts}
    }
    breakdowns = once(connection, "breakdowns", lambda: _breakdowns(connection), CUT)
    return replace(book, known=known, breakdowns=breakdowns)


def _book(connection: sqlite3.Connection) -> House:
    """The kitchen without prices, counts and breakdowns."""
    return House(
        items={row[0]: _item(*row) for row in ask(connection, "items")},
        recipes={row[0]: _recipe(*row) for row in ask(connection, "recipes")},
        components=[_component(*row) for row in ask(connection, "components")],
        by_products=[_by_product(*row) for row in ask(connection, "by_products")],
        known={},
        breakdowns=[],
        joint_method=settings(connection)["joint cost"],
    )


EARLIER_IDS = 10**9  # lines of earlier recipes are numbered from here: no line of today has such a number


def _earlier(now: House, states: dict[Key, Any]) -> House:
    """The house with recipes and items as they stood; items that are gone since keep their name and have no price."""
    recipes: dict[str, Recipe] = {}
    components: list[Component] = []
    by_products: list[ByProduct] = []
    for (what, of_id), state in states.items():
        if what == "recipe":
            recipes[of_id] = _recipe(of_id, *state["recipe"])
            for item, sub, quantity, own, text in state["lines"]:
                number = EARLIER_IDS + len(components)
                components.append(_component(number, of_id, item, sub, quantity, own, text))
            by_products += [_by_product(of_id, *row) for row in state["by_products"]]
    items = {i: _item(i, *state) for (what, i), state in states.items() if what == "item"}
    turned = {i for i, item in items.items() if i in now.items and now.items[i].unit != item.unit}
    known = {i: k for i, k in now.known.items() if i not in turned}
    return replace(
        now, items={**now.items, **items}, recipes=recipes, components=components, by_products=by_products, known=known
    )


def _maybe(text: str | None) -> Fraction | None:
    return None if text is None else Fraction(text)


def _item(*row: Any) -> Item:
    i, name, unit, category, own, pct, process = row
    published = (Fraction(str(pct)) / 100, str(process)) if pct else None
    return Item(i, name, unit, category, _maybe(own), published)


def _recipe(*row: Any) -> Recipe:
    i, name, kind, made, unit, section, status, price, target, since, until, shrink, trim, portion, joint, *ready = row
    share = None if target is None else Fraction(target) / 100
    market = Fraction(ready[0]) / Fraction(ready[1]) if ready[0] is not None and ready[1] else None
    known = (_maybe(price), share, since, until, Fraction(shrink), Fraction(trim), _maybe(portion), joint, market)
    return Recipe(i, name, kind, Fraction(made), unit, section, status, *known)


def _component(*row: Any) -> Component:
    i, recipe, item, sub, quantity, own, text = row
    return Component(i, recipe, item, sub, Fraction(quantity), _maybe(own), text)


def _by_product(recipe: str, item: str, quantity: str, price: str | None, buys: str | None) -> ByProduct:
    credit = Fraction(price) / Fraction(buys) if price is not None and buys else None
    return ByProduct(recipe, item, Fraction(quantity), credit)


_exact = lru_cache(maxsize=8192)(Fraction)  # a log says the same numbers over and over


def entry(*row: Any) -> Entry:
    """One line of a delivery note."""
    on, kind, supplier, document, item, product, received, rejected, price, buys, credits = row
    came, back = _exact(received), _exact(rejected)
    money, sent = None if price is None else abs(_exact(price)), None
    if money is not None and kind == "goods":
        each = money / _exact(buys) if buys and _exact(buys) else None
        kept = came - back if back else came
        money, sent = (None, None) if each is None else (each * kept, each * back if back else ZERO)
    elif money is not None and buys and _exact(buys) and came:
        money = money / _exact(buys) * abs(came)
    known = (came - back, back, money or None, sent or None)
    return Entry(on, kind, supplier, document, item, product, *known, credits)


def _lots(connection: sqlite3.Connection, items: Mapping[str, Item]) -> dict[str, tuple[Lot, ...]]:
    """Lots of every item, those that are no longer in the files among them; none in another unit than the item's."""
    units = {i: item.unit for i, item in items.items()}
    return landed(entry(*row) for *row, unit in ask(connection, "deliveries") if units.get(row[4], unit) == unit)


def _quotes(connection: sqlite3.Connection) -> dict[str, tuple[Quote, ...]]:
    found: dict[str, list[Quote]] = {}
    for item, on, product, price, buys in ask(connection, "quotes"):
        if Fraction(buys):
            found.setdefault(item, []).append(Quote(on, product, Fraction(price) / Fraction(buys)))
    return {item: tuple(quotes) for item, quotes in found.items()}


def _counts(connection: sqlite3.Connection) -> dict[str, tuple[tuple[str, Fraction], ...]]:
    """Day and quantity on hand of every item, as its stock has it."""
    return {item: tuple(days.items()) for item, days in counted_by_day(ask(connection, "counts")).items()}


def counted_by_day(rows: Iterable[Sequence[Any]]) -> dict[str, dict[str, Fraction]]:
    """Thing -> day -> what its counts of that day come to; rows: thing, day, quantity, station, instant, id."""
    found: dict[str, dict[str, list[tuple[Fraction, str | None, str | None, int]]]] = {}
    for thing, on, quantity, station, at, ident in rows:
        found.setdefault(thing, {}).setdefault(on, []).append((Fraction(quantity), station, at, ident))
    return {thing: {on: counted(of)[0] for on, of in days.items()} for thing, days in found.items()}


def _breakdowns(connection: sqlite3.Connection) -> list[Breakdown]:
    came_out: dict[str, list[tuple[Any, ...]]] = {}
    for code, *row in ask(connection, "outputs"):
        came_out.setdefault(code, []).append(tuple(row))
    found = []
    for code, cut, on, came_in, lot, note in ask(connection, "breakdowns"):
        out: dict[str, Fraction] = {}
        parts: dict[str, Fraction] = {}
        pieces: dict[str, int] = {}
        for recipe, item, weight, count in came_out.get(code, []):
            if recipe is not None:
                out[recipe] = out.get(recipe, ZERO) + Fraction(weight)
                pieces[recipe] = pieces.get(recipe, 0) + (count or 0)
            elif item is not None:
                parts[item] = parts.get(item, ZERO) + Fraction(weight)
        found.append(Breakdown(code, cut, on, Fraction(came_in), out, parts, pieces, lot, note))
    return found


def read_sold(connection: sqlite3.Connection, since: str, until: str) -> dict[str, Sold]:
    """Dish -> plates sold between two days, the day of each included, and money taken where it was written."""
    found = {}
    for recipe, plates, unsaid, sales in ask(connection, "sold", since=since, until=until):
        money = sum((Decimal(x) for x in (sales or "").split()), Decimal(0))
        found[recipe] = Sold(recipe, plates, unsaid, Fraction(money))
    return found


def read_days(
    connection: sqlite3.Connection, house: House, recipes: Iterable[str], since: str, until: str
) -> tuple[int, dict[str, int]]:
    """Days of service between two days, and of them those on which each dish was on the menu, as it stood then."""
    served = [on for (on,) in ask(connection, "served", since=since, until=until)]
    versions = _versions(connection)
    found = {}
    for one in recipes:
        known = versions.of.get(("recipe", one), ())
        stood = [(on, None if state is None else _recipe(one, *state["recipe"])) for on, state in known]
        found[one] = sum(_was_on(stood, house.recipes.get(one), on) for on in served)
    return len(served), found


def _was_on(stood: Sequence[tuple[str, Recipe | None]], now: Recipe | None, day: str) -> bool:
    """Whether a dish was on the menu; before it was first written down it stood as then."""
    then = next((r for since, r in reversed(stood) if since <= day), stood[0][1] if stood else now)
    return then is not None and then.is_on_menu(day)


MIX_DAYS = 28


def read_weekly(connection: sqlite3.Connection, house: House, day: str) -> dict[str, Fraction]:
    """Dish -> plates a week over the last four weeks; recipes that the file does not know are left out."""
    since = (date.fromisoformat(day) - timedelta(days=MIX_DAYS - 1)).isoformat()
    sold = read_sold(connection, since, day)
    return {r: Fraction(s.plates * 7, MIX_DAYS) for r, s in sold.items() if r in house.recipes}
