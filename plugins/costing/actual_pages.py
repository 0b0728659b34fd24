"""/cost/actual: food cost between two counts, as it is against as it should be."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Any

from stillroom.plugins.core.format import money, percent
from stillroom.plugins.core.pages import page, query
from stillroom.plugins.costing.asked import Asked, read_asked
from stillroom.plugins.costing.compute import Sheet
from stillroom.plugins.costing.files import page_or_file
from stillroom.plugins.costing.house import House
from stillroom.plugins.costing.mix import Group, Sold, Use, by_group
from stillroom.plugins.costing.prices import ZERO
from stillroom.plugins.costing.rows import ask, counted_by_day, once, read_house, read_sheet, read_sold
from stillroom.plugins.costing.said import UNKNOWN, cash, signed
from stillroom.plugins.costing.sweep import amounts


@dataclass(frozen=True)
class Actual:
    """Food cost between two counts. reason: why there is none to show.

    served: days with sales written down, of `days`; without any nothing is known of what it should have been.
    """

    asked: Asked
    opened: str
    closed: str
    uses: list[tuple[str, Use]]
    groups: list[Group]
    sales: Fraction
    reason: str
    unpriced: int
    served: int = 0
    days: int = 0

    @property
    def has_sales(self) -> bool:
        return self.served > 0

    def _against(self, theory: Fraction, variance: Fraction) -> dict[str, str]:
        """What it should have been and what is beyond, where sales say it."""
        said = (money(theory), signed(variance)) if self.has_sales else (UNKNOWN, UNKNOWN)
        return dict(zip(("theory", "variance"), said, strict=True))

    @property
    def rows(self) -> list[dict[str, str]]:
        """Groups, those farthest beyond first; without sales those that used most."""
        groups = self.groups if self.has_sales else sorted(self.groups, key=lambda g: -g.actual)
        return [{"name": g.name, "items": str(g.items), "actual": money(g.actual), "waste": money(g.waste),
                 **self._against(g.theory, g.variance)} for g in groups]  # fmt: skip

    @property
    def items(self) -> list[dict[str, str]]:
        def weight(use: Use) -> Fraction:
            return abs((use.variance if self.has_sales else use.actual) * use.each)

        ranked = sorted(self.uses, key=lambda x: -weight(x[1]))
        return [{"name": name, "actual": money(u.actual * u.each), "odd": BELOW if u.actual < 0 else "",
                 **self._against(u.theory * u.each, u.variance * u.each)} for name, u in ranked[:20]]  # fmt: skip

    @property
    def totals(self) -> dict[str, Any]:
        """Sums over all groups, and as shares of sales."""
        actual, theory, waste = (sum((getattr(g, k) for g in self.groups), ZERO) for k in ("actual", "theory", "waste"))

        def share(money_used: Fraction) -> str:
            return percent(money_used / self.sales if self.sales else None)

        return {"actual": money(actual), "waste": money(waste), "actual_pct": share(actual),
                "theory_pct": share(theory), **self._against(theory, actual - theory)}  # fmt: skip

    def as_json(self) -> dict[str, Any]:
        items = [dict(zip(USE_COLUMNS, row, strict=True)) for row in self.file_rows]
        return {**self.asked.as_json(), "opened": self.opened, "closed": self.closed,
                "sales": cash(self.sales) if self.has_sales else None, "days_with_sales": self.served,
                "days": self.days, "reason": self.reason or None, "items": items}  # fmt: skip

    @property
    def file_rows(self) -> list[list[Any]]:
        """Items under USE_COLUMNS."""
        return [_use_row(name, u, self.has_sales) for name, u in self.uses]


USE_COLUMNS = (
    "item", "group", "unit", "opening", "bought", "closing", "used", "by recipes", "thrown away", "price", "money over",
)  # fmt: skip


def _use_row(name: str, u: Use, has_sales: bool) -> list[Any]:
    theory, over = (u.theory, u.variance * u.each) if has_sales else (None, None)
    figures = (u.opening, u.bought, u.closing, u.actual, theory, u.waste)
    return [name, u.group, u.unit, *(cash(x, 3) for x in figures), cash(u.each, 6), cash(over)]


@page("costing/actual.html", needs="cost")
async def actual(datasette: Any, request: Any) -> Any:
    answer: Actual = await query(datasette, lambda connection: _actual(connection, request.args))
    file = f"food-cost-{answer.opened}-{answer.closed}"
    return await page_or_file(request, answer, file, list(USE_COLUMNS), lambda: answer.file_rows)


BELOW = "less than nothing: a count or a delivery is wrong"
NO_COUNTS = (
    "There are not two days with counts of the same items up to this day: without an opening and a closing count "
    "nobody can say what was used."
)


def _actual(connection: sqlite3.Connection, args: Any) -> Actual:
    asked = read_asked(connection, args)
    days = [on for on, _ in ask(connection, "count_days", until=asked.choice.day)]
    opened = next((on for on in days if on <= asked.since), days[-1] if days else "")
    if not days or opened == days[0]:
        return Actual(asked, "", "", [], [], ZERO, NO_COUNTS, 0)
    closed = days[0]
    return once(connection, ("actual", asked, opened, closed), lambda: _between(connection, asked, opened, closed))


def _between(connection: sqlite3.Connection, asked: Asked, opened: str, closed: str) -> Actual:
    house, sheet = read_house(connection, asked.choice.day), read_sheet(connection, asked.choice)
    after = ask(connection, "next_day", day=opened)[0][0]
    sold = read_sold(connection, after, closed)
    theory = _by_item(house, sheet, {r: Fraction(s.plates) for r, s in sold.items()})
    waste = _wasted(connection, house, sheet, after, closed)
    held = _held(connection, house, sheet, opened, closed)
    left = _left_by_cuts(house, opened, closed)
    uses, unpriced = [], 0
    for item, known in house.known.items():
        counts = dict(known.counts)
        if opened in counts and closed in counts and item in house.items:
            if item not in sheet.prices:
                unpriced += 1
                continue
            came = sum((x.quantity for x in known.lots if opened < x.on <= closed), left.get(item, ZERO))
            stock = [counts[on] + more.get(item, ZERO) for on, more in zip((opened, closed), held, strict=True)]
            spent = (theory.get(item, ZERO), waste.get(item, ZERO), sheet.prices[item].each)
            known_as = house.items[item]
            uses.append((known_as.name, Use(item, known_as.category, stock[0], came, stock[1], *spent, known_as.unit)))
    sales = sum((_taken(house, s) for s in sold.values()), ZERO)
    reason = "" if uses else NO_COUNTS
    served = len(ask(connection, "served", since=after, until=closed))
    days = (date.fromisoformat(closed) - date.fromisoformat(opened)).days
    return Actual(asked, opened, closed, uses, by_group([u for _, u in uses]), sales, reason, unpriced, served, days)


def _taken(house: House, sold: Sold) -> Fraction:
    """Money taken; plates whose money was not written down at their menu price."""
    recipe = house.recipes.get(sold.recipe)
    return sold.sales + sold.unsaid * ((recipe.price if recipe else None) or ZERO)


def _by_item(house: House, sheet: Sheet, made: dict[str, Fraction]) -> dict[str, Fraction]:
    """Item -> quantity in some base units of recipes; credits left out."""
    total: dict[str, Fraction] = {}
    for recipe, quantity in made.items():
        for item, each in amounts(sheet.book, recipe).items() if recipe in house.recipes else ():
            if each > 0:
                total[item] = total.get(item, ZERO) + each * quantity
    return total


def _held(
    connection: sqlite3.Connection, house: House, sheet: Sheet, opened: str, closed: str
) -> tuple[dict[str, Fraction], dict[str, Fraction]]:
    """Item -> what stood on two days in counted batches (of what was counted on both) and in ageing lots."""
    first: dict[str, Fraction] = {}
    last: dict[str, Fraction] = {}
    rows = ask(connection, "counted_recipes", opened=opened, closed=closed)
    for recipe, days in counted_by_day(rows).items():
        if opened in days and closed in days:
            first[recipe], last[recipe] = days[opened], days[closed]
    found = _by_item(house, sheet, first), _by_item(house, sheet, last)
    for day_held, on in zip(found, (opened, closed), strict=True):
        for item, start in ask(connection, "hanging", day=on):
            day_held[item] = day_held.get(item, ZERO) + Fraction(start)
    return found


def _left_by_cuts(house: House, opened: str, closed: str) -> dict[str, Fraction]:
    """Item -> what breakdowns between two days left of it as a by-product: it came in without being bought."""
    found: dict[str, Fraction] = {}
    for b in house.breakdowns:
        for item, weight in b.parts.items() if opened < b.on <= closed else ():
            found[item] = found.get(item, ZERO) + weight
    return found


def _wasted(connection: sqlite3.Connection, house: House, sheet: Sheet, since: str, until: str) -> dict[str, Fraction]:
    """Item -> what the waste log says was thrown away between two days."""
    recipes: dict[str, Fraction] = {}
    items: dict[str, Fraction] = {}
    for recipe, item, quantity, _ in ask(connection, "thrown", since=since, until=until):
        into, name = (items, item) if item is not None else (recipes, recipe)
        into[name] = into.get(name, ZERO) + Fraction(quantity)
    for item, quantity in _by_item(house, sheet, recipes).items():
        items[item] = items.get(item, ZERO) + quantity
    return items
