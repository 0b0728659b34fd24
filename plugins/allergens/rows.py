"""From the kitchen's file to facts; kept until the next load, for only a load changes them."""

from __future__ import annotations

import json
import sqlite3
from dataclasses import dataclass
from datetime import date
from typing import Any

from stillroom.db.allergen_facts import read_presence
from stillroom.db.kitchen import day_of, settings
from stillroom.db.names import fold
from stillroom.plugins.allergens.compute import Asked, Dish, Facts, Way

DISHES = """
select id, name, section, coalesce(from_on, '0000'), coalesce(to_on, '9999') from recipes
where kind = 'dish' and status = 'active' order by name
"""
SUBSTITUTES = """
select c.id, coalesce(i.name, r.name), coalesce(s.with_item_id, s.with_recipe_id), s.with_recipe_id is not null
from substitutes as s
join components as c on c.item_id = s.for_item_id or c.sub_recipe_id = s.for_recipe_id
join recipes as dish on dish.id = c.recipe_id and dish.kind = 'dish'
left join items as i on i.id = s.with_item_id left join recipes as r on r.id = s.with_recipe_id
where s.in_recipe_id is null or s.in_recipe_id = c.recipe_id order by s.id
"""


@dataclass(frozen=True)
class Kitchen:
    """Everything the allergen pages ask of one load."""

    facts: Facts
    seasons: dict[str, tuple[str, str]]
    settings: dict[str, str]
    allergens: tuple[tuple[str, str, str | None], ...]
    groups: tuple[tuple[str, str, frozenset[str]], ...]
    words: dict[str, Asked]

    def menu(self, day: date) -> tuple[Dish, ...]:
        """Dishes on the menu of a day."""
        iso = day.isoformat()
        return tuple(d for d in self.facts.dishes if self.seasons[d.id][0] <= iso <= self.seasons[d.id][1])


_kept: dict[str, tuple[tuple[int, str], Kitchen]] = {}


def kitchen(connection: sqlite3.Connection) -> Kitchen:
    """The facts of the newest load."""
    (path,) = connection.execute("select file from pragma_database_list where name = 'main'").fetchone()
    stamp = connection.execute("select count(*), coalesce(max(loaded_at), '') from loads").fetchone()
    kept = _kept.get(path)
    if kept is None or kept[0] != stamp:
        kept = (stamp, _read(connection))
        _kept[path] = kept
    return kept[1]


def today(connection: sqlite3.Connection) -> date:
    return day_of(kitchen(connection).settings)


def _read(connection: sqlite3.Connection) -> Kitchen:
    said = settings(connection)
    allergens = tuple(connection.execute("select id, name, parent_id from allergens order by position"))
    dishes = connection.execute(DISHES).fetchall()
    groups = _groups(connection, said["regime"])
    return Kitchen(
        _facts(connection, dishes), {d[0]: (d[3], d[4]) for d in dishes}, said, allergens, groups,
        _words(allergens, groups),
    )  # fmt: skip


def _facts(connection: sqlite3.Connection, dishes: list[Any]) -> Facts:
    ways, recipe_items, names, subs = _ways(connection)
    lines = connection.execute(
        "select c.id, coalesce(i.name, r.name), c.is_removable from components as c left join items as i on i.id = c.item_id"
        " left join recipes as r on r.id = c.sub_recipe_id"
    ).fetchall()
    surfaces: dict[str, frozenset[str]] = {}
    for surface, recipe in connection.execute("select s.name, x.recipe_id from recipe_surfaces as x join surfaces as s on s.id = x.surface_id"):
        surfaces[surface] = surfaces.get(surface, frozenset()) | {recipe}
    tags: dict[str, frozenset[str]] = {}
    for item, name, tag in connection.execute("select i.id, i.name, t.tag from items as i left join item_tags as t on t.item_id = i.id"):
        tags[item] = tags.get(item, frozenset({fold(name), *fold(name).replace(",", "").split()})) | ({tag} if tag else frozenset())
    replaced: dict[int, tuple[tuple[str, frozenset[str]], ...]] = {}
    for line, name, thing, is_recipe in connection.execute(SUBSTITUTES):
        items = recipe_items.get(thing, frozenset()) if is_recipe else frozenset({thing})
        replaced[line] = (*replaced.get(line, ()), (name, items))
    return Facts(
        tuple(Dish(i, n, s, tuple(ways.get(i, ()))) for i, n, s, _, _ in dishes), read_presence(connection), recipe_items, names,
        frozenset(i for i, _, off in lines if off), {i: n for i, n, _ in lines}, replaced, surfaces, tags,
    )  # fmt: skip


def _ways(connection: sqlite3.Connection) -> tuple[dict[str, list[Way]], dict[str, frozenset[str]], dict[str, str], dict[int, str | None]]:
    names = dict(connection.execute("select id, name from recipes").fetchall())
    subs = dict(connection.execute("select id, sub_recipe_id from components").fetchall())
    ways: dict[str, list[Way]] = {}
    items: dict[str, set[str]] = {}
    for recipe, item, path, components in connection.execute(
        "select recipe_id, item_id, path, component_ids from explosion where amount > 0 order by recipe_id, path_no"
    ):
        ids = tuple(json.loads(components))
        through = tuple(s for s in (subs.get(c) for c in ids) if s is not None)
        ways.setdefault(recipe, []).append(Way(item, tuple(json.loads(path)), ids, through))
        items.setdefault(recipe, set()).add(item)
    return ways, {r: frozenset(s) for r, s in items.items()}, names, subs


def _groups(connection: sqlite3.Connection, regime: str) -> tuple[tuple[str, str, frozenset[str]], ...]:
    """The regime's own list: code, name, allergens."""
    found: dict[str, tuple[str, set[str]]] = {}
    rows = connection.execute(
        "select r.code, r.name, g.allergen_id from allergen_regimes as r join allergen_groups as g using (regime, code)"
        " where r.regime = ? and r.is_listed = 1 order by r.rowid", (regime,),
    )  # fmt: skip
    for code, name, allergen in rows:
        found.setdefault(code, (name, set()))[1].add(allergen)
    return tuple((code, name, frozenset(ids)) for code, (name, ids) in found.items())


def _words(allergens: tuple[tuple[str, str, str | None], ...], groups: tuple[tuple[str, str, frozenset[str]], ...]) -> dict[str, Asked]:
    """What may be asked for by id: an allergen with its kinds and the group it may be declared as, or a regime's group."""
    parent = {i: p for i, _, p in allergens}
    found = {code: Asked(name.lower(), ids) for code, name, ids in groups}
    for i, name, _ in allergens:
        if i not in found:
            found[i] = Asked(name, frozenset({*_up(i, parent), *(x for x in parent if i in _up(x, parent))}))
    return found


def _up(allergen: str, parent: dict[str, str | None]) -> list[str]:
    """An allergen and the groups above it."""
    chain, at = [], allergen
    while True:
        chain.append(at)
        above = parent.get(at)
        if above is None:
            return chain
        at = above
