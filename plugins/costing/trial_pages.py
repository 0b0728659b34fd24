"""/cost/what-if and /cost/butcher: figures tried out. Nothing typed here is stored."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from stillroom.db.kitchen import settings
from stillroom.db.number import whole
from stillroom.db.odd_price import is_odd, times_words, usual_price
from stillroom.db.quantity import read_percent
from stillroom.plugins.core.format import large, marked, money, percent, plain
from stillroom.plugins.core.pages import page, query
from stillroom.plugins.costing.asked import Asked, figure, read_asked
from stillroom.plugins.costing.block import FIELDS as FIELDS_OF_BLOCK
from stillroom.plugins.costing.block import PARTS, Reckoned, read, reckon, weighed
from stillroom.plugins.costing.butcher import BY_VALUE, BY_WEIGHT, Refused
from stillroom.plugins.costing.compute import Sheet
from stillroom.plugins.costing.house import House, Item, yield_of
from stillroom.plugins.costing.prices import ZERO
from stillroom.plugins.costing.rows import read_house, read_sheet, read_weekly
from stillroom.plugins.costing.said import cash, each_words, signed
from stillroom.plugins.costing.whatif import Change, Moved, what_if
from stillroom.plugins.costing.whatif_cuts import NotPossible, of_item, usable_now


@dataclass(frozen=True)
class WhatIf:
    """The form as filled in, and what it moves; moved None = nothing asked yet.

    now: the figure as it is, in words; ask: what of it wants to be looked at.
    """

    asked: Asked
    said: dict[str, str]
    items: list[tuple[str, str, str]]
    cuts: list[tuple[str, str]]
    lines: list[tuple[int, str]]
    recipe: str
    recipes: list[tuple[str, str]]
    moved: list[Moved] | None
    now: str
    ask: str
    wrong: tuple[str, ...]

    @property
    def per(self) -> str:
        """What prices are for, of what is weighed and poured: 'kg, l'."""
        return ", ".join(large(unit)[0] for unit in ("g", "ml"))

    @property
    def rows(self) -> list[dict[str, str]]:
        """Dishes as the page says them."""
        return [{"id": m.id, "name": m.name, "before": _cost(m.before), "after": _cost(m.after), "by": signed(m.by),
                 "weekly": signed(m.weekly), "share": _share(m)} for m in self.moved or ()]  # fmt: skip

    @property
    def total(self) -> str:
        """Money a week of all together."""
        return signed(sum((m.weekly for m in self.moved or () if m.weekly is not None), ZERO))

    def as_json(self) -> dict[str, Any]:
        moved = None if self.moved is None else [
            {"id": m.id, "name": m.name, "before": cash(m.before, 4), "after": cash(m.after, 4), "by": cash(m.by, 4),
             "weekly_plates": float(m.weekly_plates), "weekly_money": cash(m.weekly)} for m in self.moved]  # fmt: skip
        return {**self.asked.as_json(), "asked": self.said, "moved": moved, "now": self.now or None,
                "ask": self.ask or None, "wrong": list(self.wrong)}  # fmt: skip


def _cost(each: Fraction | None) -> str:
    return "incomplete" if each is None else money(each)


def _share(m: Moved) -> str:
    return "–" if m.after is None or not m.price else percent(m.after / m.price)


@page("costing/what_if.html", needs="cost")
async def what_if_page(datasette: Any, request: Any) -> WhatIf:
    answer: WhatIf = await query(datasette, lambda connection: _what_if(connection, request.args))
    return answer


FIELDS = ("item", "price", "yield", "instead", "ratio", "recipe", "line", "quantity", "cut", "portion", "usable")


def _what_if(connection: sqlite3.Connection, args: Any) -> WhatIf:
    asked = read_asked(connection, args)
    house = read_house(connection, asked.choice.day)
    said = {name: (args.get(name) or "")[:80] for name in FIELDS}
    wrong = list(asked.wrong)
    change = _change(house, args, said, asked.mark, wrong)
    moved, now, ask = None, "", ""
    if change is not None:
        sheet, weekly = read_sheet(connection, asked.choice), read_weekly(connection, house, asked.choice.day)
        try:
            moved, now = what_if(house, sheet, change, weekly), _now(house, sheet, change)
            ask = _odd(house, sheet, change)
        except NotPossible as error:
            wrong.append(f"This cannot be reckoned: {error}.")
    items = sorted((i.name, i.id, large(i.unit)[0]) for i in house.items.values())
    cuts = sorted((r.name, r.id) for r in house.recipes.values() if r.kind == "cut")
    recipes = sorted((r.name, r.id) for r in house.recipes.values())
    lines = [(c.id, c.text) for c in house.components if c.recipe == said["recipe"]]
    return WhatIf(asked, said, items, cuts, lines, said["recipe"], recipes, moved, now, ask, tuple(wrong))


def _now(house: House, sheet: Sheet, change: Change) -> str:
    """What a yield is now, or how much comes in an item's place, in words; '' where neither is asked."""
    if change.usable is not None:
        share = usable_now(house, sheet, change.cut)
        return f"Of what is bought for {house.recipes[change.cut].name}, {percent(share)} is sold now."
    if change.instead:
        return _exchanged(house, change)
    if change.edible is None:
        return ""
    cuts = {r: usable_now(house, sheet, r) for r in of_item(house, sheet, change.item, change.edible)}
    said = [f"{house.recipes[r].name} {percent(share)} of what is bought" for r, share in cuts.items()]
    plain = any(c.item == change.item and not c.own_yield and c.recipe not in cuts for c in house.components)
    own = yield_of(house, change.item, sheet.choice.day) if plain else None
    said += [f"lines that say no yield of their own {percent(own.share)}, {own.source}"] if own else []
    return f"Now: {'; '.join(said)}." if said else "Now no yield of it is known: lines count as bought."


def _exchanged(house: House, change: Change) -> str:
    """How much of another thing comes in an item's place."""
    old, new = house.items[change.item], house.items.get(change.instead) or house.recipes[change.instead]
    (one, size), (other, other_size) = large(old.unit), large(new.unit)
    comes = marked(plain(float(change.ratio * size / other_size), 4))
    return f"For 1 {one} of {old.name}: {comes} {other} of {new.name}."


def _odd(house: House, sheet: Sheet, change: Change) -> str:
    """The question about a price far from the usual one; '' where there is none to ask."""
    known, now = house.known.get(change.item), sheet.prices.get(change.item)
    before = [lot.each for lot in known.on(sheet.choice.day)] if known else []
    usual = usual_price(before) or (now.each if now else None)
    if change.each is None or usual is None or not is_odd(change.each, usual):
        return ""
    item = house.items[change.item]
    times = times_words(change.each, usual)
    return (f"{each_words(change.each, item.unit)} is {times} what {item.name} usually costs, "
            f"{each_words(usual, item.unit)}. Is it so? It is reckoned as typed.")  # fmt: skip


def _change(house: House, args: Any, said: dict[str, str], mark: str, wrong: list[str]) -> Change | None:
    """The one change that the form asks for; None where it asks for nothing yet, or names something unknown."""
    item = house.items.get(said["item"])
    if said["item"] and item is None:
        wrong.append("There is no item of that name.")
        return None
    each, edible, quantity, portion, usable, ratio = (
        figure(args, name, mark, wrong) for name in ("price", "yield", "quantity", "portion", "usable", "ratio")
    )
    line = whole(said["line"])
    if line is not None and quantity is not None:
        return Change(line=line, quantity=quantity)
    if said["cut"] and portion is not None:
        return Change(cut=said["cut"], portion=portion)
    if said["cut"] and usable is not None:
        return Change(cut=said["cut"], usable=usable / 100)
    if item is not None and (each is not None or edible is not None or said["instead"]):
        per = None if each is None else each / large(item.unit)[1]
        share = None if edible is None else edible / 100
        sizes = Fraction(_size(house, said["instead"], item), _size(house, item.id, item))
        told = ratio if ratio is not None else Fraction(1)
        return Change(item.id, per, share, instead=said["instead"], ratio=told * sizes)
    return None


def _size(house: House, thing: str, item: Item) -> Fraction:
    """Base units in the unit that a form asks for a thing in: 1,000 g in a kg; of what nobody knows, the item's."""
    known = house.items.get(thing) or house.recipes.get(thing) or item
    return large(known.unit)[1]


@dataclass(frozen=True)
class Butcher:
    """One piece on the block: the form as filled in, the test, and how its cost is shared."""

    said: dict[str, str]
    currency: str
    unit: str
    found: Reckoned
    method: str
    wrong: tuple[str, ...]
    numbers: tuple[int, ...] = tuple(range(1, PARTS + 1))

    @property
    def shared(self) -> list[tuple[str, str]]:
        return [(name, money(Fraction(cents, 100))) for name, cents in self.found.shares]

    @property
    def figures(self) -> list[tuple[str, str]]:
        """The test in words."""
        t = self.found.test
        if t is None:
            return []
        return [("Paid", money(t.paid)), ("Credits", money(t.credits)), ("Cost of what is left", money(t.cost)),
                ("Usable weight", weighed(t.usable, self.unit)), ("Yield", percent(t.share)),
                (f"Cost for one {self.unit or 'unit of weight'}", marked(f"{float(t.each):.4f}")),
                ("Cost factor", marked(f"{float(t.factor):.5f}"))]  # fmt: skip

    def as_json(self) -> dict[str, Any]:
        t = self.found.test
        plain = None if t is None else {k: str(getattr(t, k)) for k in t.__dataclass_fields__}
        shares = [{"name": n, "money": cash(Fraction(c, 100))} for n, c in self.found.shares]
        return {"asked": self.said, "unit": self.unit or None, "test": plain, "shares": shares, "method": self.method,
                "said": self.found.said or None, "ask": self.found.ask or None, "wrong": list(self.wrong)}  # fmt: skip


@page("costing/butcher.html", needs="cost")
async def butcher_page(datasette: Any, request: Any) -> Butcher:
    kitchen: dict[str, str] = await query(datasette, settings)
    return _butcher(request.args, kitchen)


def _butcher(args: Any, kitchen: dict[str, str]) -> Butcher:
    said = {name: (args.get(name) or "")[:40] for name in FIELDS_OF_BLOCK}
    method = BY_VALUE if args.get("method") == BY_VALUE else BY_WEIGHT
    wrong: list[str] = []
    form = read(said, kitchen["decimal mark"], wrong)
    found = Reckoned(None)
    try:
        if form is not None:
            tolerance = read_percent(kitchen["breakdown tolerance"], kitchen["decimal mark"])
            found = reckon(form, method, tolerance, said["loss"] == "yes")
    except Refused as error:
        wrong.append(f"Refused: {error}.")
    return Butcher(said, kitchen["currency"], form.unit if form else "", found, method, tuple(wrong))
