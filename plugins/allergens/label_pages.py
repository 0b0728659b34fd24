"""/reviews: labels nobody has read; /reviews/PRODUCT: what an ingredient list points to, for a person to check."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from stillroom.db.allergen_kitchen import kitchen
from stillroom.db.label_words import CONTAINS, MAY, LabelReader, LabelWord, Suggestion, strongest
from stillroom.plugins.allergens.pages import ask
from stillroom.plugins.core.pages import NotFound, page, query

MOST_READ = 20_000


@dataclass(frozen=True)
class Unread:
    """A label nobody has read, and how many dishes its item reaches.

    kind: 'product', with a page of its own; 'seen' at the door and not among the products; 'no product' of the item.
    """

    kind: str
    id: str
    name: str
    supplier: str
    item_id: str
    item: str
    dishes: int
    has_ingredients: bool


@dataclass(frozen=True)
class ToRead:
    """Every label that nobody has read, and how many products are bought in all."""

    products: list[Unread]
    bought: int


@page("allergens/to_read.html", needs="reviews")
async def to_read(datasette: Any, request: Any) -> ToRead:
    def work(connection: sqlite3.Connection) -> ToRead:
        ((products,),) = ask(connection, "products_bought")
        return ToRead([_unread(row) for row in ask(connection, "labels_to_read")], products)

    return await query(datasette, work)


def _unread(row: Sequence[Any]) -> Unread:
    kind, label, name, supplier, item, item_name, dishes, has_ingredients = row
    return Unread(kind, label, name, supplier, item, item_name, dishes, bool(has_ingredients))


@dataclass(frozen=True)
class Pointed:
    """A suggestion with its allergen's name, and whether the product's review declares it already."""

    allergen: str
    said: Suggestion
    is_declared: bool


@dataclass(frozen=True)
class Product:
    """A product and what was read of it. printed: its ingredients as written down."""

    id: str
    name: str
    supplier: str
    item_id: str
    item: str
    code: str
    printed: str
    reviewed_on: str | None
    read_what: str | None


@dataclass(frozen=True)
class LabelPage:
    """One product's label: what its review declares, and what the text points to.

    contains and may_contain are the cells to write into products once the label itself says so.
    """

    product: Product
    declared: list[tuple[str, str]]
    text: str
    is_cut: bool
    pointed: list[Pointed]
    contains: str
    may_contain: str
    today: str

    def as_json(self) -> dict[str, Any]:
        """The page as data."""
        return {
            "product": self.product.id, "name": self.product.name, "reviewed_on": self.product.reviewed_on,
            "declared": [{"allergen": name, "presence": presence} for name, presence in self.declared],
            "text": self.text,
            "suggestions": [asdict(p.said) | {"name": p.allergen, "is_declared": p.is_declared} for p in self.pointed],
        }  # fmt: skip


@page("allergens/label.html", needs="reviews")
async def label(datasette: Any, request: Any) -> LabelPage:
    wanted, typed = request.url_vars["product"], request.args.get("text")
    return await query(datasette, lambda connection: _label(connection, wanted, typed))


def _label(connection: sqlite3.Connection, wanted: str, typed: str | None) -> LabelPage:
    product = next((Product(*row) for row in ask(connection, "product", product=wanted)), None)
    if product is None:
        raise NotFound("There is no product of that name. The page Labels to read lists those that wait.")
    here = kitchen(connection)
    names = dict(here.allergens)
    declared = list(ask(connection, "declared", product=wanted))
    text = product.printed if typed is None else typed.strip()
    reader = LabelReader(LabelWord(*word) for word in ask(connection, "all_label_words"))
    found = reader.read(text[:MOST_READ])
    ids = {allergen for allergen, _, _ in declared}
    best = strongest(found)
    contains, may = (_cell(best, names, presence) for presence in (CONTAINS, MAY))
    pointed = [Pointed(names.get(one.allergen, one.allergen), one, one.allergen in ids) for one in found]
    return LabelPage(
        product, [(name, presence) for _, name, presence in declared], text[:MOST_READ], len(text) > MOST_READ,
        pointed, contains, may, here.today.isoformat(),
    )  # fmt: skip


def _cell(best: Mapping[str, Suggestion], names: Mapping[str, str], presence: str) -> str:
    """The allergens of one presence as a cell of products."""
    return "; ".join(names.get(allergen, allergen) for allergen, one in best.items() if one.presence == presence)
