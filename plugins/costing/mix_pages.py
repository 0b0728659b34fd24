"""/menu: which dishes earn."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from datetime import timedelta
from fractions import Fraction
from functools import cache, cached_property
from typing import Any

from jinja2 import Environment, PackageLoader
from markupsafe import Markup
from stillroom.plugins.core.format import FILTERS, day, money, percent
from stillroom.plugins.core.pages import page, query
from stillroom.plugins.costing.asked import Asked, read_asked
from stillroom.plugins.costing.compute import Sheet
from stillroom.plugins.costing.files import page_or_file
from stillroom.plugins.costing.house import House
from stillroom.plugins.costing.mix import Dish, Mix, Placed, Sold, menu_mix
from stillroom.plugins.costing.plots import scatter
from stillroom.plugins.costing.prices import ZERO
from stillroom.plugins.costing.rows import SOLD, costed_from, once, read_days, read_house, read_sheet, read_sold
from stillroom.plugins.costing.said import cash

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

    @property
    def file_rows(self) -> list[list[Any]]:
        """Dishes of all sections under COLUMNS."""
        return [_row(name, p, self.days) for name, m in self.sections for p in m.placed]


@cache
def _templates() -> Environment:
    found = Environment(loader=PackageLoader("stillroom.plugins.costing"), autoescape=True)
    found.filters.update(FILTERS)
    return found


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
    return await page_or_file(request, answer, file, list(COLUMNS), lambda: answer.file_rows)


def _menu(connection: sqlite3.Connection, args: Any) -> Menu:
    asked = read_asked(connection, args, PERIOD)
    key = ("menu", asked.choice, asked.since, asked.wrong)

    def make() -> Menu:
        house, sheet = read_house(connection, asked.choice.day), read_sheet(connection, asked.choice)
        sold, days, on_menu = _sold(connection, house, asked.since, asked.choice.day)
        sections = mix_sections(house, sheet, sold, days, on_menu)
        return Menu(asked, sections, _stray(house, sold, asked), days)

    return once(connection, key, make, costed_from(asked.choice) | SOLD)


def _sold(
    connection: sqlite3.Connection, house: House, since: str, until: str
) -> tuple[dict[str, Sold], int, dict[str, int]]:
    """Plates sold between two days, days of service, and days on the menu of each dish sold."""

    def make() -> tuple[dict[str, Sold], int, dict[str, int]]:
        sold = read_sold(connection, since, until)
        return sold, *read_days(connection, house, sold, since, until)

    return once(connection, ("sold", since, until), make, SOLD)


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
