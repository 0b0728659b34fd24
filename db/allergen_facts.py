"""What each item and each recipe declares: the one place where labels become facts about a plate.

contains > may contain > not reviewed > not declared. An item is as strong as the strongest of its active products, and
not reviewed while nobody has read the label of one of them. A by-product that nobody sells declares what its primal does.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

CONTAINS, MAY_CONTAIN, NOT_REVIEWED, NOT_DECLARED = "contains", "may contain", "not reviewed", "not declared"
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
        by_product_sources: item -> items that it is cut from.
    """
    by_item: dict[str, list[Product]] = {}
    for product in products:
        by_item.setdefault(product.item_id, []).append(product)
    said: dict[tuple[str, str], set[str]] = {}
    for product_id, allergen, presence in declared:
        said.setdefault((product_id, presence), set()).add(allergen)
    found = {item: _of_products(by_item[item], said) for item in by_item}
    return {item: found.get(item) or _inherited(by_product_sources.get(item, frozenset()), found) for item in items}


def _of_products(products: list[Product], said: Mapping[tuple[str, str], set[str]]) -> Presence:
    contains = frozenset(a for p in products for a in said.get((p.id, CONTAINS), ()))
    may = frozenset(a for p in products for a in said.get((p.id, MAY_CONTAIN), ()))
    unread = tuple(p.name for p in products if p.reviewed_on is None)
    oldest = min((p.reviewed_on for p in products if p.reviewed_on), default=None)
    return Presence(not unread, contains, may - contains, oldest, unread)


def _inherited(sources: frozenset[str], found: Mapping[str, Presence]) -> Presence:
    """What the primals behind a by-product declare; unknown where nothing is behind it."""
    behind = [found[s] for s in sources if s in found]
    if not behind or len(behind) < len(sources):
        return UNKNOWN
    contains = frozenset().union(*(p.contains for p in behind))
    may = frozenset().union(*(p.may for p in behind)) - contains
    oldest = min((p.oldest_review for p in behind if p.oldest_review), default=None)
    return Presence(all(p.is_reviewed for p in behind), contains, may, oldest, sum((p.unread for p in behind), ()))


def read_presence(connection: sqlite3.Connection) -> dict[str, Presence]:
    """`item_presence` of a kitchen's file."""
    items = [i for (i,) in connection.execute("select id from items")]
    products = map(Product._make, connection.execute("select id, item_id, name, reviewed_on from products where is_active = 1"))
    declared = connection.execute("select product_id, allergen_id, presence from product_allergens").fetchall()
    sources: dict[str, frozenset[str]] = {}
    cut_from = "select b.item_id, c.item_id from by_products as b join components as c on c.recipe_id = b.recipe_id where c.item_id is not null"
    for item, primal in connection.execute(cut_from):
        sources[item] = sources.get(item, frozenset()) | {primal}
    return item_presence(items, products, declared, sources)


def dish_declarations(connection: sqlite3.Connection) -> dict[tuple[str, str], str]:
    """(dish, allergen) -> 'contains' or 'may contain'; (dish, 'any') -> 'not reviewed' where a part is unread."""
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
            out[dish, "any"] = NOT_REVIEWED
    return out
