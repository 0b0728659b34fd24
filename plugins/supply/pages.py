"""/short: find an item; /short/ITEM: what it reaches and what is left."""

from __future__ import annotations

import json
import sqlite3
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from stillroom.db.allergen_facts import read_presence
from stillroom.db.exact import exact_text
from stillroom.db.kitchen import settings
from stillroom.db.kitchen import today as kitchen_day
from stillroom.db.named_sql import load
from stillroom.db.names import fold
from stillroom.plugins.core.format import amount
from stillroom.plugins.core.pages import NotFound, page, query
from stillroom.plugins.supply.compute import Stock, Use, allergen_change, plates_left, purchased

SHOWN = 40


@dataclass(frozen=True)
class Search:
    """Items found by part of their name, and what is short now."""

    wanted: str
    items: list[tuple[str, str]]
    total: int
    short: list[tuple[str, str, str]]


@page("supply/search.html", needs="short")
async def search(datasette: Any, request: Any) -> Search:
    wanted = (request.args.get("find") or "").strip()[:60]

    def ask(connection: sqlite3.Connection) -> Search:
        rows = connection.execute("select id, name from items order by name").fetchall()
        found = [(i, n) for i, n in rows if fold(wanted) in fold(n)] if wanted else []
        short = connection.execute(
            "select i.id, i.name, s.state from standing_shortages as s join items as i on i.id = s.item_id where s.state <> 'back'"
            " and s.id in (select max(id) from standing_shortages group by item_id, recipe_id)"
        ).fetchall()
        return Search(wanted, found[:SHOWN], len(found), short)

    return await query(datasette, ask)


@dataclass(frozen=True)
class Reached:
    """One dish or sub-recipe that an item reaches."""

    id: str
    name: str
    kind: str
    is_on_menu: bool
    paths: list[tuple[str, ...]]
    per_plate: str
    per_plate_said: str
    unit: str
    plates_left: int | None


@dataclass(frozen=True)
class Stand:
    """A substitute: for what, with what, how much of it, and what it does to the allergens of each dish on the menu."""

    instead_of: str
    use: str
    how_much: str
    only_in: str | None
    dishes: list[dict[str, Any]]


@dataclass(frozen=True)
class Short:
    """Everything about one short item."""

    id: str
    name: str
    unit: str
    as_of: str
    on_hand: str
    counted_on: str | None
    held: list[tuple[str, str]]
    dishes: list[Reached]
    sub_recipes: list[Reached]
    substitutes: list[Stand]

    def as_json(self) -> dict[str, Any]:
        return {
            "item": {"id": self.id, "name": self.name}, "as_of": self.as_of, "on_hand": self.on_hand,
            "dishes": [{"id": d.id, "name": d.name, "paths": [list(p) for p in d.paths], "per_plate": d.per_plate, "unit": d.unit,
                        "plates_left": d.plates_left, "on_menu": d.is_on_menu} for d in self.dishes],
            "substitutes": [{"for": s.instead_of, "use": s.use, "how_much": s.how_much, "dishes": s.dishes} for s in self.substitutes],
        }  # fmt: skip


@page("supply/short.html", needs="short")
async def short(datasette: Any, request: Any) -> Short:
    wanted = request.url_vars["item"]
    return await query(datasette, lambda connection: _short(connection, wanted))


def _short(connection: sqlite3.Connection, wanted: str) -> Short:
    row = connection.execute("select id, name, unit from items where id = ?", (wanted,)).fetchone()
    if row is None:
        raise NotFound("The kitchen buys nothing of that name. Look for it on the page Short.")
    item, name, unit = row
    day, system = kitchen_day(connection).isoformat(), settings(connection)["units"]
    reached, per_unit = _reached(connection, item, day)
    stock = _stock(connection, [item, *per_unit], day)
    loose = stock[item].on_hand
    batches = {r: s.on_hand for r, s in stock.items() if r != item}
    rows = [_row(r, uses, unit, system, loose, batches, per_unit) for r, uses in reached.items()]
    names = {r[0]: r[1] for r in reached}
    held = [(names[r], amount(b * per_unit[r], unit, system)) for r, b in batches.items() if b and r in names]
    dishes = [r for r in rows if r.kind == "dish"]
    return Short(
        item, name, unit, day, amount(loose, unit, system), stock[item].counted_on, held,
        sorted(dishes, key=lambda d: (not d.is_on_menu, -1 if d.plates_left is None else d.plates_left, d.name)),
        [r for r in rows if r.kind != "dish"], _substitutes(connection, item, dishes, system),
    )  # fmt: skip


Key = tuple[str, str, str, bool]


def _reached(connection: sqlite3.Connection, item: str, day: str) -> tuple[dict[Key, list[Use]], dict[str, Fraction]]:
    """Recipes that the item reaches with each use, and how much of it is in one base unit of each sub-recipe."""
    subs = dict(connection.execute("select id, sub_recipe_id from components").fetchall())
    reached: dict[Key, list[Use]] = {}
    per_unit: dict[str, Fraction] = {}
    for recipe, name, kind, _, quantity, share, path, components, on_menu in connection.execute(
        load("stillroom.plugins.supply")["uses"], {"item": item, "day": day}
    ):
        each = purchased(Fraction(quantity), Fraction(share) if share else None)
        through = tuple(subs[c] for c in json.loads(components) if subs.get(c))
        reached.setdefault((recipe, name, kind, bool(on_menu)), []).append(Use(each, tuple(json.loads(path)), through))
        if kind != "dish":
            per_unit[recipe] = per_unit.get(recipe, Fraction(0)) + each
    return reached, per_unit


def _row(
    key: Key, uses: list[Use], unit: str, system: str, loose: Fraction | None, batches: dict[str, Fraction | None],
    per_unit: dict[str, Fraction],
) -> Reached:  # fmt: skip
    recipe, name, kind, on_menu = key
    total = sum((u.quantity for u in uses), Fraction(0))
    left = plates_left(uses, loose, batches, per_unit) if kind == "dish" else None
    return Reached(recipe, name, kind, on_menu, [u.path for u in uses], exact_text(total), amount(total, unit, system), unit, left)


def _stock(connection: sqlite3.Connection, ids: list[str], day: str) -> dict[str, Stock]:
    found = {}
    for i, counted, on, deliveries, batches, uses in connection.execute(
        load("stillroom.plugins.supply")["stock"], {"ids": json.dumps(ids), "day": day}
    ):
        came = sum((Fraction(a) - Fraction(b) for a, b in (d.split() for d in filter(None, (deliveries or "").split(";")))), Fraction(0))
        came += sum(map(Fraction, filter(None, (batches or "").split(";"))), Fraction(0))
        left = sum(map(Fraction, filter(None, (uses or "").split(";"))), Fraction(0))
        found[i] = Stock(Fraction(counted) if counted else None, on, came, left)
    return found


def _substitutes(connection: sqlite3.Connection, item: str, dishes: list[Reached], system: str) -> list[Stand]:
    presence = read_presence(connection)
    names = dict(connection.execute("select id, name from allergens").fetchall())
    items: dict[str, set[str]] = {}
    for recipe, one in connection.execute("select recipe_id, item_id from explosion where amount > 0"):
        items.setdefault(recipe, set()).add(one)
    out = []
    for _, old, old_id, is_item, new, new_id, new_is_item, only, ratio, new_unit, old_unit, ratio_unit in connection.execute(
        load("stillroom.plugins.supply")["substitutes"], {"item": item}
    ):
        coming = frozenset({new_id}) if new_is_item else frozenset(items.get(new_id, ()))
        leaving = frozenset({item}) if is_item else frozenset(items.get(old_id, ()))
        affected = []
        for dish in dishes:
            if not dish.is_on_menu or (only and only != dish.id) or (not is_item and not any(old in p for p in dish.paths)):
                continue
            change = allergen_change(frozenset(items[dish.id]), leaving, coming, presence)
            affected.append({"id": dish.id, "name": dish.name, "gained": [names[a] for a in change["gained"]],
                             "lost": [names[a] for a in change["lost"]], "not_reviewed": change["not_reviewed"]})  # fmt: skip
        out.append(Stand(old, new, _how_much(Fraction(ratio), new_unit, old_unit, ratio_unit, system), only, affected))
    return out


def _how_much(ratio: Fraction, new_unit: str, old_unit: str, ratio_unit: str, system: str) -> str:
    """What stands in for a round amount of the original; said plainly where the two can't be compared."""
    if not ratio_unit and new_unit != old_unit:
        return f"does not convert: one is kept in {old_unit}, the other in {new_unit}"
    base = Fraction(1) if old_unit == "each" else Fraction(100)
    return f"{amount(base * ratio, new_unit, system)} for {amount(base, old_unit, system)}"
