"""What each item and each recipe declares: the one place where labels become facts about a plate.

contains > may contain > not reviewed > not declared. An item is as strong as the strongest of its active products, and
not reviewed while nobody has read the label of one of them. What a recipe leaves over declares what went into the
recipe, and what its own products do where it is bought as well: on the shelf the two are one thing.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

CONTAINS, MAY_CONTAIN, NOT_REVIEWED, NOT_DECLARED = "contains", "may contain", "not reviewed", "not declared"
ANY = "any"  # in place of an allergen: whether every label behind a dish has been read
STRENGTH = (CONTAINS, MAY_CONTAIN, NOT_REVIEWED, NOT_DECLARED)


@dataclass(frozen=True)
class Presence:
    """What one item declares: whether every active product was reviewed, the oldest review, and the allergens."""

    is_reviewed: bool
    contains: frozenset[str] = frozenset()
    may: frozenset[str] = frozenset()
    oldest_review: str | None = None
    unread: tuple[str, ...] = field(default=())

    def of(self, allergens: Iterable[str]) -> str:
        """The strongest presence of any of the allergens."""
        asked = frozenset(allergens)
        if asked & self.contains:
            return CONTAINS
        if asked & self.may:
            return MAY_CONTAIN
        return NOT_DECLARED if self.is_reviewed else NOT_REVIEWED


class Product(NamedTuple):
    """One active product: what it is, its name, when it was reviewed (None = never)."""

    id: str
    item_id: str
    name: str
    reviewed_on: str | None


UNKNOWN = Presence(False)
# Goods taken in under a name that is not among the supplier's products: nobody has read that label, so the item is not
# reviewed until the product stands in the kitchen's files.
FIRST_SEEN = "select 'seen ' || id, item_id, name, null from unread_label where kind = 'seen'"


def item_presence(
    items: Iterable[str],
    products: Iterable[Product],
    declared: Iterable[tuple[str, str, str]],
    by_product_sources: Mapping[str, frozenset[str]],
) -> dict[str, Presence]:
    """Presence of every item.

    Args:
        items: ids of all items.
        products: active products only.
        declared: (product id, allergen id, 'contains' or 'may contain').
        by_product_sources: item -> items that go into the cuts and recipes that leave it over.
    """
    by_item: dict[str, list[Product]] = {}
    for product in products:
        by_item.setdefault(product.item_id, []).append(product)
    said: dict[tuple[str, str], set[str]] = {}
    for product_id, allergen, presence in declared:
        said.setdefault((product_id, presence), set()).add(allergen)
    bought = {item: _of_products(by_item[item], said) for item in by_item}
    return {item: _resolved(item, bought, by_product_sources, frozenset()) for item in items}


def _resolved(
    item: str, bought: Mapping[str, Presence], sources: Mapping[str, frozenset[str]], above: frozenset[str]
) -> Presence:
    """An item's own products together with what it is left over from; unknown where there is neither, or a ring."""
    if item in above:
        return UNKNOWN
    behind = [_resolved(s, bought, sources, above | {item}) for s in sorted(sources.get(item, ()))]
    known = [bought[item], *behind] if item in bought else behind
    return _strongest(known) if known else UNKNOWN


def _of_products(products: list[Product], said: Mapping[tuple[str, str], set[str]]) -> Presence:
    contains = frozenset(a for p in products for a in said.get((p.id, CONTAINS), ()))
    may = frozenset(a for p in products for a in said.get((p.id, MAY_CONTAIN), ()))
    unread = tuple(p.name for p in products if p.reviewed_on is None)
    oldest = min((p.reviewed_on for p in products if p.reviewed_on), default=None)
    return Presence(not unread, contains, may - contains, oldest, unread)


def _strongest(facts: list[Presence]) -> Presence:
    """Several facts about one thing as one."""
    contains = frozenset().union(*(f.contains for f in facts))
    may = frozenset().union(*(f.may for f in facts)) - contains
    oldest = min((f.oldest_review for f in facts if f.oldest_review), default=None)
    unread = tuple(dict.fromkeys(name for f in facts for name in f.unread))
    return Presence(all(f.is_reviewed for f in facts), contains, may, oldest, unread)


def read_presence(connection: sqlite3.Connection) -> dict[str, Presence]:
    """`item_presence` of a kitchen's file."""
    items = [i for (i,) in connection.execute("select id from items")]
    bought = connection.execute("select id, item_id, name, reviewed_on from products where is_active = 1")
    products = [*map(Product._make, bought), *map(Product._make, connection.execute(FIRST_SEEN))]
    declared = connection.execute("select product_id, allergen_id, presence from product_allergens").fetchall()
    sources: dict[str, frozenset[str]] = {}
    left_over = """
        select distinct b.item_id, e.item_id from by_products as b
        join explosion as e on e.recipe_id = b.recipe_id and e.amount > 0 and e.item_id <> b.item_id
    """
    for item, source in connection.execute(left_over):
        sources[item] = sources.get(item, frozenset()) | {source}
    return item_presence(items, products, declared, sources)


def dish_declarations(connection: sqlite3.Connection) -> dict[tuple[str, str], str]:
    """(dish, allergen) -> 'contains' or 'may contain'; (dish, ANY) -> 'not reviewed' where a part is unread."""
    presence = read_presence(connection)
    out: dict[tuple[str, str], str] = {}
    parts = connection.execute(
        "select distinct e.recipe_id, e.item_id from explosion as e join recipes as r on r.id = e.recipe_id"
        " where r.kind = 'dish' and e.amount > 0"
    )
    for dish, item in parts.fetchall():
        fact = presence.get(item, UNKNOWN)
        for allergen in fact.may:
            out.setdefault((dish, allergen), MAY_CONTAIN)
        for allergen in fact.contains:
            out[dish, allergen] = CONTAINS
        if not fact.is_reviewed:
            out[dish, ANY] = NOT_REVIEWED
    return out
