"""/menu-on/DATE: the menu of any day by section; prices for those who may see them."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from stillroom.db.kitchen import settings
from stillroom.db.kitchen import today as kitchen_day
from stillroom.db.menu import OnMenu, changes_between
from stillroom.db.menu import menu_on as dishes_on
from stillroom.plugins.core.auth import decide, role_of
from stillroom.plugins.core.format import money
from stillroom.plugins.core.pages import NotFound, page, query

AHEAD = timedelta(days=42)


@dataclass(frozen=True)
class MenuOn:
    """The menu of a day. may_price: whether whoever asks sees prices."""

    day: date
    today: date
    kitchen: str
    currency: str
    dishes: list[OnMenu]
    changes: list[tuple[str, str, str]]
    may_price: bool

    @property
    def sections(self) -> list[tuple[str, list[tuple[OnMenu, str]]]]:
        """Dishes by section, each with its price in words."""
        found: dict[str, list[tuple[OnMenu, str]]] = {}
        for dish in self.dishes:
            words = money(dish.price) if self.may_price and dish.price is not None else ""
            found.setdefault(dish.section or "No section", []).append((dish, words))
        return list(found.items())

    @property
    def before(self) -> str:
        return (self.day - timedelta(days=1)).isoformat()

    @property
    def after(self) -> str:
        return (self.day + timedelta(days=1)).isoformat()

    def as_json(self) -> dict[str, Any]:
        dishes = []
        for d in self.dishes:
            row = {"id": d.id, "name": d.name, "section": d.section, "from": d.from_on, "to": d.to_on,
                   "version": d.version}  # fmt: skip
            dishes.append({**row, "price": None if d.price is None else str(d.price)} if self.may_price else row)
        changes = [{"on": on, "dish": name, "what": what} for on, name, what in self.changes]
        return {"on": self.day.isoformat(), "dishes": dishes, "changes": changes}


@page("trials/menu_on.html", needs="dish")
async def menu_on(datasette: Any, request: Any) -> MenuOn:
    may_price = decide(role_of(request.actor), "cost")
    asked = request.url_vars.get("day") or request.args.get("on") or ""
    return await query(datasette, lambda connection: _menu(connection, asked, may_price))


def _menu(connection: sqlite3.Connection, asked: str, may_price: bool) -> MenuOn:
    today, said = kitchen_day(connection), settings(connection)
    try:
        day = date.fromisoformat(asked) if asked else today
        last = day + AHEAD
        day - timedelta(days=1)
    except (ValueError, OverflowError):
        raise NotFound(f"There is no such day. Write it as {today.isoformat()}.") from None
    return MenuOn(
        day, today, said["name"], said["currency"], dishes_on(connection, day, today),
        changes_between(connection, day + timedelta(days=1), last), may_price,
    )  # fmt: skip
