"""/menu: which dishes earn; /cost/actual: food cost as it is against as it should be."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from datetime import timedelta
from fractions import Fraction
from functools import cache, cached_property
from typing import Any

from jinja2 import Environment, PackageLoader
from markupsafe import Markup
from stillroom.plugins.core.export import page_or_file
from stillroom.plugins.core.format import day, money, percent
from stillroom.plugins.core.pages import page, query
from stillroom.plugins.costing.asked import Asked, read_asked
from stillroom.plugins.costing.compute import Sheet
from stillroom.plugins.costing.house import House
from stillroom.plugins.costing.mix import Dish, Group, Mix, Placed, Sold, Use, by_group, menu_mix
from stillroom.plugins.costing.plots import scatter
from stillroom.plugins.costing.prices import ZERO
from stillroom.plugins.costing.rows import ask, once, read_days, read_house, read_sheet, read_sold
from stillroom.plugins.costing.said import cash, signed
from stillroom.plugins.costing.sweep import amounts

PERIOD = timedelta(days=89)


@dataclass(frozen=True)
class Menu:
    """The mix of each section, what was sold while it was not on the menu, and days of service in the period."""

    asked: Asked
    sections: list[tuple[str, Mix]]
    stray: list[tuple[str, int, str]]
    days: int

    @cached_property
    def drawn(self) -> Markup:
        """Tables and plots of all sections; made once, since the whole answer is kept."""
        asked = self.asked
        since, until = day(asked.since, asked.today), day(asked.choice.day, asked.today)
        template = _templates().get_template("costing/menu_sections.html")
        return Markup(template.render(sections=self.said, since=since, until=until, days=self.days))

    @cached_property
    def said(self) -> list[dict[str, Any]]:
        """Sections as the page says them."""
        return [{"name": name, "plates": m.plates,
                 "mean": money(m.mean_margin) if m.mean_margin is not None else "–",
                 "popular": percent(m.popular_from), "at_a_time": f"{float(m.at_a_time):.3g}",
                 "food_cost": percent(m.food_cost), "margin": money(m.margin),
                 "plot": scatter(m, name), "rows": [_said(p, self.days) for p in m.placed]}
                for name, m in self.sections]  # fmt: skip

    def as_json(self) -> dict[str, Any]:
        sections = [
            {"section": name, "plates": m.plates, "mean_margin": cash(m.mean_margin, 4),
             "food_cost_pct": _pct(m.food_cost), "popular_from_pct": _pct(m.popular_from),
             "dishes_at_a_time": cash(m.at_a_time), "margin": cash(m.margin),
             "sales": cash(m.sales),
             "dishes": [dict(zip(COLUMNS, _row(name, p, self.days), strict=True)) for p in m.placed]}
            for name, m in self.sections]  # fmt: skip
        stray = [{"dish": n, "plates": c, "why": w} for n, c, w in self.stray]
        return {**self.asked.as_json(), "sections": sections, "not_placed": stray, "equal_counts_as": "high",
                "days_of_service": self.days}  # fmt: skip


@cache
def _templates() -> Environment:
    return Environment(loader=PackageLoader("stillroom.plugins.costing"), autoescape=True)


def _pct(share: Fraction | None) -> float | None:
    return None if share is None else cash(share * 100, 2)


def _said(p: Placed, days: int) -> dict[str, Any]:
    margin = money(p.margin) if p.margin is not None else "–"
    total = money(p.margin * p.dish.plates) if p.margin is not None else "–"
    part = "" if p.dish.days is None or p.dish.days >= days else f"on the menu {p.dish.days} of {days} days"
    if part and p.klass:
        part += f": popular from {percent(p.popular_from)}"
    return {"id": p.dish.id, "name": p.dish.name, "plates": p.dish.plates, "mix": percent(p.mix) if p.klass else "–",
            "margin": margin, "total": total, "food": percent(p.food_cost) if p.food_cost is not None else "–",
            "klass": p.klass, "why": p.why, "part": part}  # fmt: skip


COLUMNS = ("section", "dish", "class", "plates", "mix %", "cost", "sales", "margin", "food cost %", "days on menu",
           "popular from %", "not placed")  # fmt: skip


def _row(section: str, p: Placed, days: int) -> list[Any]:
    d = p.dish
    return [section, d.name, p.klass or None, d.plates, _pct(p.mix) if p.klass else None, cash(d.cost, 4),
            cash(d.sales), cash(p.margin, 4), _pct(p.food_cost), days if d.days is None else d.days,
            _pct(p.popular_from) if p.klass else None, p.why or None]  # fmt: skip


@page("costing/menu.html", needs="cost")
async def menu(datasette: Any, request: Any) -> Any:
    answer: Menu = await query(datasette, lambda connection: _menu(connection, request.args))
    file = f"menu-{answer.asked.since}-{answer.asked.choice.day}"
    return await page_or_file(
        request, answer, file, list(COLUMNS), lambda: [_row(name, p, answer.days) for name, m in answer.sections for p in m.placed]
    )


def _menu(connection: sqlite3.Connection, args: Any) -> Menu:
    asked = read_asked(connection, args, PERIOD)
    key = ("menu", asked.choice, asked.since, asked.wrong)

    def make() -> Menu:
        house, sheet = read_house(connection, asked.choice.day), read_sheet(connection, asked.choice)
        sold = read_sold(connection, asked.since, asked.choice.day)
        days, on_menu = read_days(connection, house, sold, asked.since, asked.choice.day)
        sections = mix_sections(house, sheet, sold, days, on_menu)
        return Menu(asked, sections, _stray(house, sold, asked), days)

    return once(connection, key, make)


def mix_sections(
    house: House, sheet: Sheet, sold: dict[str, Sold], days: int, on_menu: dict[str, int]
) -> list[tuple[str, Mix]]:
    """The mix of each section; a plate whose money was not written down counts at its menu price."""
    sections: dict[str, list[Dish]] = {}
    for s in sold.values():
        r = house.recipes.get(s.recipe)
        if r is not None and r.kind == "dish" and (r.price is not None or not s.unsaid):
            sales = s.sales + s.unsaid * (r.price or ZERO)
            each = sheet.costs.of(r.id)
            sections.setdefault(r.section or "No section", []).append(
                Dish(r.id, r.name, s.plates, sales, each, on_menu[r.id])
            )
    return [(name, menu_mix(sorted(rows, key=lambda d: d.name), days)) for name, rows in sorted(sections.items())]


def _stray(house: House, sold: dict[str, Sold], asked: Asked) -> list[tuple[str, int, str]]:
    """Sales that are in no section, or of dishes that were never on the menu in the period."""
    found = []
    for s in sold.values():
        r = house.recipes.get(s.recipe)
        if r is None:
            found.append((s.recipe, s.plates, "no recipe of that name"))
        elif r.kind != "dish":
            found.append((r.name, s.plates, f"a {r.kind}, not a dish"))
        elif r.price is None and s.unsaid:
            found.append((r.name, s.plates, "no menu price and no sales written down"))
        elif r.status != "active" or (r.from_on or "0") > asked.choice.day or (r.to_on or "9") < asked.since:
            found.append((r.name, s.plates, "not on the menu in these days: listed in its section, and not judged"))
    return found


@dataclass(frozen=True)
class Actual:
    """Food cost between two counts. reason: why there is none to show."""

    asked: Asked
    opened: str
    closed: str
    uses: list[tuple[str, Use]]
    groups: list[Group]
    sales: Fraction
    reason: str
    unpriced: int

    @property
    def rows(self) -> list[dict[str, str]]:
        return [{"name": g.name, "items": str(g.items), "actual": money(g.actual), "theory": money(g.theory),
                 "variance": signed(g.variance), "waste": money(g.waste)} for g in self.groups]  # fmt: skip

    @property
    def items(self) -> list[dict[str, str]]:
        ranked = sorted(self.uses, key=lambda x: -abs(x[1].variance * x[1].each))
        return [{"name": name, "actual": money(u.actual * u.each), "theory": money(u.theory * u.each),
                 "variance": signed(u.variance * u.each), "odd": BELOW if u.actual < 0 else ""}
                for name, u in ranked[:20]]  # fmt: skip

    @property
    def totals(self) -> dict[str, Any]:
        """Sums over all groups, and as shares of sales."""
        actual, theory, waste = (sum((getattr(g, k) for g in self.groups), ZERO) for k in ("actual", "theory", "waste"))

        def share(money_used: Fraction) -> str:
            return percent(money_used / self.sales if self.sales else None)

        return {"actual": money(actual), "theory": money(theory), "variance": signed(actual - theory),
                "waste": money(waste), "actual_pct": share(actual), "theory_pct": share(theory)}  # fmt: skip

    def as_json(self) -> dict[str, Any]:
        items = [dict(zip(USE_COLUMNS, _use_row(name, u), strict=True)) for name, u in self.uses]
        return {**self.asked.as_json(), "opened": self.opened, "closed": self.closed, "sales": cash(self.sales),
                "reason": self.reason or None, "items": items}  # fmt: skip


USE_COLUMNS = (
    "item", "group", "opening", "bought", "closing", "used", "by recipes", "thrown away", "price", "money over",
)  # fmt: skip


def _use_row(name: str, u: Use) -> list[Any]:
    figures = (u.opening, u.bought, u.closing, u.actual, u.theory, u.waste)
    return [name, u.group, *(cash(x, 3) for x in figures), cash(u.each, 6), cash(u.variance * u.each)]


@page("costing/actual.html", needs="cost")
async def actual(datasette: Any, request: Any) -> Any:
    answer: Actual = await query(datasette, lambda connection: _actual(connection, request.args))
    file = f"food-cost-{answer.opened}-{answer.closed}"
    return await page_or_file(
        request, answer, file, list(USE_COLUMNS), lambda: [_use_row(name, u) for name, u in answer.uses]
    )


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
            uses.append((known_as.name, Use(item, known_as.category, stock[0], came, stock[1], *spent)))
    sales = sum((_taken(house, s) for s in sold.values()), ZERO)
    reason = "" if uses else NO_COUNTS
    return Actual(asked, opened, closed, uses, by_group([u for _, u in uses]), sales, reason, unpriced)


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
    for recipe, was, left in ask(connection, "counted_recipes", opened=opened, closed=closed):
        first[recipe] = sum(map(Fraction, was.split()), ZERO)
        last[recipe] = sum(map(Fraction, left.split()), ZERO)
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
