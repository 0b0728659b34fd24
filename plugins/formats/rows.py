"""From the kitchen's file to recipes, menus and days that other programs read."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

from stillroom.db.kitchen import settings, today
from stillroom.db.menu import changes_between, menu_on
from stillroom.db.named_sql import asker
from stillroom.db.names import slug
from stillroom.db.stock import read_stock
from stillroom.plugins.core.auth import decide
from stillroom.plugins.core.format import amount
from stillroom.plugins.formats.feed import Day
from stillroom.plugins.formats.jsonld import Card, Dish

AHEAD = timedelta(days=120)


ask = asker("stillroom.plugins.formats")


def card_of(connection: sqlite3.Connection, recipe: str) -> Card | None:
    """A recipe as others may read it; None where there is none."""
    found = ask(connection, "recipe", id=recipe)
    if not found:
        return None
    name, _, section, made, active, passive = found[0]
    lines, steps, tools = (
        tuple(text for (text,) in ask(connection, what, id=recipe)) for what in ("lines", "steps", "tools")
    )
    ((changed,),) = ask(connection, "changed")
    on = date.fromisoformat(changed[:10]) if changed else None
    return Card(name, settings(connection)["name"], section, made, lines, steps, tools, active, passive, on)


def dishes_on(connection: sqlite3.Connection, day: date, may_price: bool) -> list[Dish]:
    """The menu of a day; prices only for those who may see them."""
    found = menu_on(connection, day, today(connection))
    return [Dish(d.name, d.section, d.price if may_price else None) for d in found]


def days_of(connection: sqlite3.Connection, role: str) -> list[Day]:
    """Days of the kitchen that a role may know of: last days of use, lots coming ready, dishes that come and go."""
    day = today(connection)
    found = list(_seasons(connection, day)) if decide(role, "dish") else []
    if decide(role, "log"):
        found += _discards(connection, day)
    if decide(role, "ageing"):
        found += _lots(connection, day)
    return found


def _seasons(connection: sqlite3.Connection, day: date) -> Iterator[Day]:
    for on, dish, what in changes_between(connection, day, day + AHEAD):
        yield Day(f"season-{slug(dish)}-{slug(what)}-{on}", date.fromisoformat(on), f"{dish}: {what}")


def _discards(connection: sqlite3.Connection, day: date) -> Iterator[Day]:
    """What is on hand and has a last day of use, one entry a thing and day."""
    things = [thing for (thing,) in ask(connection, "made", day=day.isoformat())]
    names: dict[str, str] = dict(ask(connection, "names"))
    units = dict(connection.execute("select id, unit from items union all select id, yield_unit from recipes"))
    system = settings(connection)["units"]
    for thing, stock in read_stock(connection, things, day.isoformat()).items():
        last: dict[str, Any] = {}
        for lot in stock.lots:
            if lot.use_by is not None and not lot.is_frozen:
                last[lot.use_by] = last.get(lot.use_by, 0) + lot.quantity
        for use_by, quantity in last.items():
            said = amount(quantity, units[thing], system)
            yield Day(
                f"use-{thing}-{use_by}", date.fromisoformat(use_by), f"Last day: {names[thing]}, {said}",
                "By the records: used on that day or discarded after it. Look at the label.",
            )  # fmt: skip


def _lots(connection: sqlite3.Connection, day: date) -> Iterator[Day]:
    for code, item, started, days in ask(connection, "hanging"):
        ready = date.fromisoformat(started) + timedelta(days=days)
        if ready >= day - timedelta(days=14):
            more = f"{days} days from {started}, as planned. Weigh and look before it is cut."
            yield Day(f"lot-{slug(code)}", ready, f"Ready: {item}, lot {code}", more)
