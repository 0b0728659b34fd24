"""/short: find an item, and what is short now; /short/ITEM: what it reaches and what is left."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Any

from stillroom.db.allergen_facts import Presence, read_presence
from stillroom.db.doubts import DOUBTS, doubts
from stillroom.db.exact import exact_text
from stillroom.db.kitchen import settings
from stillroom.db.kitchen import today as kitchen_day
from stillroom.db.names import fold
from stillroom.db.stock import Stock
from stillroom.db.units import substitute_quantity
from stillroom.plugins.core.format import amount
from stillroom.plugins.core.pages import NotFound, page, query
from stillroom.plugins.supply.compute import (
    Change,
    Plates,
    Supply,
    Way,
    allergen_change,
    held,
    plates_left,
    remaining,
)
from stillroom.plugins.supply.rows import Reach, ask, read_families, read_measures, read_reach, read_supply, read_ways

SHOWN = 40


@dataclass(frozen=True)
class Shortage:
    """A thing written down as short or out. kind: 'item', 'dish', 'sub-recipe' or 'cut'."""

    kind: str
    id: str
    name: str
    state: str
    since: str
    expected: str | None
    note: str


@dataclass(frozen=True)
class Search:
    """Items found by part of their name, and what is short now."""

    find: str
    items: list[dict[str, str]]
    total: int
    short: list[Shortage]


@page("supply/search.html", needs="short")
async def search(datasette: Any, request: Any) -> Search:
    wanted = (request.args.get("find") or "").strip()[:60]

    def work(connection: sqlite3.Connection) -> Search:
        found = _find(connection, fold(wanted))
        short = [Shortage(*row) for row in ask(connection, "shortages")]
        return Search(wanted, found[:SHOWN], len(found), short)

    return await query(datasette, work)


def _find(connection: sqlite3.Connection, part: str) -> list[dict[str, str]]:
    """Items with the part in their folded name, those that begin with it first."""
    if not part:
        return []
    rows = [(fold(name), i, name) for i, name in connection.execute("select id, name from items")]
    found = sorted((not folded.startswith(part), folded, i, name) for folded, i, name in rows if part in folded)
    return [{"id": i, "name": name} for _, _, i, name in found]


@dataclass(frozen=True)
class Reached:
    """A dish or sub-recipe that the item reaches, and for a dish the plates left."""

    at: Reach
    said: str
    left: Plates


@dataclass(frozen=True)
class Batch:
    """A sub-recipe on hand that holds the item: how much there is, how much of the item in it, its first last day."""

    id: str
    name: str
    on_hand: str
    holds: str
    use_by: str | None


@dataclass(frozen=True)
class Swapped:
    """What a substitute does to the declarations of one dish, in names of allergens and items."""

    id: str
    name: str
    gained: list[tuple[str, str]]
    lost: list[str]
    weaker: list[str]
    unknown: list[str]
    unread: list[str]

    @property
    def is_same(self) -> bool:
        """Nothing declared changes, and every label that comes in was read."""
        return not (self.gained or self.lost or self.weaker or self.unknown or self.unread)


@dataclass(frozen=True)
class Stand:
    """A substitute: for what, with what, how much of it (None = doesn't convert), and what it does to each dish."""

    instead_of: str
    use: str
    within: str | None
    how_much: str | None
    units: tuple[str, str]
    note: str
    dishes: list[Swapped]


@dataclass(frozen=True)
class Short:
    """Everything about one short item. on_hand: exact, in unit; None = never counted.

    doubts: (thing, what is doubtful about what is there of it), of the item and of batches that hold it.
    """

    id: str
    name: str
    unit: str
    as_of: str
    on_hand: Fraction | None
    on_hand_said: str
    counted_on: str | None
    batches: list[Batch]
    dishes: list[Reached]
    sub_recipes: list[Reached]
    substitutes: list[Stand]
    doubts: list[tuple[str, str]]

    @property
    def on_menu(self) -> int:
        return sum(d.at.is_on_menu for d in self.dishes)

    def as_json(self) -> dict[str, Any]:
        return {
            "item": {"id": self.id, "name": self.name},
            "as_of": self.as_of,
            "on_hand": None if self.on_hand is None else exact_text(self.on_hand),
            "unit": self.unit,
            "counted_on": self.counted_on,
            "doubts": [{"thing": thing, "said": said} for thing, said in self.doubts],
            "batches": [vars(b) for b in self.batches],
            "dishes": [_dish_json(d, self.unit) for d in self.dishes],
            "sub_recipes": [
                {"id": d.at.id, "name": d.at.name, "paths": [list(p) for p in d.at.paths]} for d in self.sub_recipes
            ],
            "substitutes": [_stand_json(s) for s in self.substitutes],
        }


def _dish_json(d: Reached, unit: str) -> dict[str, Any]:
    return {
        "id": d.at.id,
        "name": d.at.name,
        "paths": [list(p) for p in d.at.paths],
        "per_plate": exact_text(d.at.quantity),
        "unit": unit,
        "plates_left": d.left.number,
        "is_at_least": d.left.is_at_least,
        "on_menu": d.at.is_on_menu,
    }


def _stand_json(s: Stand) -> dict[str, Any]:
    dishes = [vars(d) | {"gained": [{"allergen": a, "presence": p} for a, p in d.gained]} for d in s.dishes]
    return {
        "for": s.instead_of,
        "use": s.use,
        "within": s.within,
        "converts": s.how_much is not None,
        "how_much": s.how_much,
        "note": s.note,
        "dishes": dishes,
    }


@page("supply/short.html", needs="short", parts="short")
async def short(datasette: Any, request: Any) -> Short:
    wanted = request.url_vars["item"]
    return await query(datasette, lambda connection: _short(connection, wanted))


def _short(connection: sqlite3.Connection, wanted: str) -> Short:
    row = connection.execute("select id, name, unit from items where id = ?", (wanted,)).fetchone()
    if row is None:
        raise NotFound("The kitchen buys nothing of that name. Look for it on the page Short.")
    item, name, unit = row
    day, system = kitchen_day(connection).isoformat(), settings(connection)["units"]
    of, found = read_supply(connection, item, day)
    reached = [_reached(r, of, unit, system) for r in read_reach(connection, item, day)]
    dishes = sorted((d for d in reached if d.at.kind == "dish"), key=_most_urgent)
    others = [d for d in reached if d.at.kind != "dish"]
    batches = _batches(of, found, {d.at.id: d.at for d in others}, unit, system)
    swaps = _substitutes(connection, item, [d for d in dishes if d.at.is_on_menu], system)
    loose = found[item]
    said = "never counted" if loose.on_hand is None else amount(loose.on_hand, unit, system)
    names = {item: name} | {d.at.id: d.at.name for d in others}
    return Short(item, name, unit, day, loose.on_hand, said, loose.counted_on, batches, dishes, others, swaps,
                 _doubts(connection, found, names, day))  # fmt: skip


def _doubts(
    connection: sqlite3.Connection, found: Mapping[str, Stock], names: Mapping[str, str], day: str
) -> list[tuple[str, str]]:
    lives: dict[str, int | None] = dict(ask(connection, "lives"))
    wrong = doubts(connection, found, lives, date.fromisoformat(day))
    return [(thing, f"{names[thing]}: {DOUBTS[why]}") for thing, why in wrong.items() if thing in names]


def _reached(at: Reach, of: Supply, unit: str, system: str) -> Reached:
    left = plates_left(at.id, of) if at.kind == "dish" else Plates(None)
    return Reached(at, amount(at.quantity, unit, system), left)


def _most_urgent(d: Reached) -> tuple[bool, int, str]:
    """On the menu first, then what runs out first; what nobody can tell goes before all numbers."""
    return (not d.at.is_on_menu, -1 if d.left.number is None else d.left.number, d.at.name)


def _batches(of: Supply, found: Mapping[str, Stock], at: Mapping[str, Reach], unit: str, system: str) -> list[Batch]:
    return [
        Batch(
            recipe,
            at[recipe].name,
            amount(found[recipe].on_hand, at[recipe].unit, system),
            amount(holds, unit, system),
            min((x.use_by for x in found[recipe].lots if x.use_by), default=None),
        )
        for recipe, holds in held(of).items()
        if recipe in at and holds > 0
    ]


@dataclass(frozen=True)
class Labels:
    """What is needed to tell what a swap declares: facts of items, relatives of allergens, and names of both."""

    presence: Mapping[str, Presence]
    families: Mapping[str, frozenset[str]]
    allergens: Mapping[str, str]
    items: Mapping[str, str]


def _labels(connection: sqlite3.Connection) -> Labels:
    allergens = dict(connection.execute("select id, name from allergens").fetchall())
    items = dict(connection.execute("select id, name from items").fetchall())
    return Labels(read_presence(connection), read_families(connection), allergens, items)


def _substitutes(connection: sqlite3.Connection, item: str, dishes: list[Reached], system: str) -> list[Stand]:
    rows = ask(connection, "substitutes", item=item)
    if not rows:
        return []
    labels = _labels(connection)
    ways = read_ways(connection, {d.at.id for d in dishes} | {r[3] for r in rows if not r[4]})
    stands = []
    for old, old_id, new, new_id, is_item, within, inside, ratio, ratio_unit, old_unit, new_unit, note in rows:
        measures = read_measures(connection, new_id, bool(is_item))
        each = substitute_quantity(Fraction(ratio), old_unit, new_unit, ratio_unit, measures)
        coming = frozenset({new_id}) if is_item else frozenset(w.item for w in ways.get(new_id, ()))
        swapped = [_swapped(d.at, ways.get(d.at.id, []), (old_id, within), coming, labels) for d in dishes]
        how = _how_much(each, old_unit, new_unit, system)
        stands.append(Stand(old, new, inside, how, (old_unit, new_unit), note, [s for s in swapped if s is not None]))
    return stands


def _swapped(
    at: Reach, ways: list[Way], out: tuple[str, str | None], coming: frozenset[str], labels: Labels
) -> Swapped | None:
    """What happens to one dish; None where it doesn't hold what is replaced. out: what leaves, within which recipe."""
    kept = remaining(at.id, ways, *out)
    if kept is None:
        return None
    change = allergen_change(frozenset(w.item for w in ways), kept | coming, labels.presence, labels.families)
    return _named(at, change, labels)


def _named(at: Reach, change: Change, labels: Labels) -> Swapped:
    names = labels.allergens
    return Swapped(
        at.id,
        at.name,
        [(names.get(a, a), presence) for a, presence in change.gained],
        [names.get(a, a) for a, _ in change.lost],
        [names.get(a, a) for a in change.weaker],
        [names.get(a, a) for a in change.unknown],
        [labels.items.get(i, i) for i in change.unread],
    )


def _how_much(each: Fraction | None, old_unit: str, new_unit: str, system: str) -> str | None:
    """What stands in for a round amount of the original."""
    if each is None:
        return None
    base = Fraction(1) if old_unit == "each" else Fraction(100)
    return f"{amount(base * each, new_unit, system)} for {amount(base, old_unit, system)}"
