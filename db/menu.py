"""The menu of any day: dishes in their seasons, and what a promotion makes of them from its day on."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal, InvalidOperation

from stillroom.db.kitchen import settings
from stillroom.db.promotions import Promotion, called, standing, version_of
from stillroom.db.quantity import ReadError, read_money


@dataclass(frozen=True)
class OnMenu:
    """One dish on the menu of a day.

    Attributes:
        price: on the menu, tax excluded [money]; None where it is not said.
        from_on, to_on: its season, ISO dates; None = no such end.
        version: of its trial, by which it is made on that day; None = as the files say.
    """

    id: str
    name: str
    section: str
    price: Decimal | None
    from_on: str | None
    to_on: str | None
    version: int | None


def menu_on(connection: sqlite3.Connection, day: date, today: date) -> list[OnMenu]:
    """Dishes on the menu of a day, by section and name.

    Args:
        day: which day; one to come counts promotions that come into force by then.
        today: the kitchen's day. A dish that has been retired stood on the menus of its season before today.
    """
    on, promoted = day.isoformat(), standing(connection)
    rows = connection.execute(
        "select id, name, section, menu_price, from_on, to_on, status, version from recipes"
        " where kind = 'dish' and status in ('active', 'retired')"
    )
    found = []
    for dish, name, section, price, first, last, status, version in rows:
        if status == "retired" and (day >= today or last is None):
            continue
        one = OnMenu(dish, name, section, _money(price), first, last, version)
        one = _as_of(connection, one, promoted.get(dish, []), on)
        if (one.from_on or "") <= on <= (one.to_on or "9999"):
            found.append(one)
    return sorted(found, key=lambda d: (d.section, d.name))


def _as_of(connection: sqlite3.Connection, dish: OnMenu, rows: list[Promotion], on: str) -> OnMenu:
    """The dish as its promotions make it on a day; before the first of them, as the trial's first version copied it."""
    begun = [p for p in rows if p.from_on <= on]
    if begun:
        return _by_version(connection, dish, begun[-1])
    if rows and dish.version is not None:
        copied = connection.execute(
            "select min(version), name from standing_trial_versions where trial_id = ? and began_from = ?",
            (rows[0].trial_id, dish.id),
        ).fetchone()
        if copied[0] is not None:
            return _by_version(connection, dish, replace(rows[0], version=copied[0], name=copied[1], to_on=None))
    return dish


def _by_version(connection: sqlite3.Connection, dish: OnMenu, promotion: Promotion) -> OnMenu:
    """The dish as a version makes it."""
    if promotion.version == dish.version:
        return dish
    draft = version_of(connection, promotion.trial_id, promotion.version)
    if draft is None:
        return dish
    try:
        price = read_money(draft.price, settings(connection)["decimal mark"]) if draft.price else None
    except ReadError:
        price = None
    return replace(
        dish, name=called(promotion, dish.name), section=draft.section, price=price,
        to_on=promotion.to_on or dish.to_on, version=promotion.version,
    )  # fmt: skip


def _money(text: str | None) -> Decimal | None:
    try:
        return None if text is None else Decimal(text)
    except InvalidOperation:
        return None


def changes_between(connection: sqlite3.Connection, first: date, last: date) -> list[tuple[str, str, str]]:
    """(day, dish, what): dishes that come onto the menu, leave it or change between two days, both included.

    A dish leaves on its last day; what comes as a version says which.
    """
    low, high = first.isoformat(), last.isoformat()
    found = []
    for name, begins, ends in connection.execute(
        "select name, from_on, to_on from recipes where kind = 'dish' and status = 'active'"
    ):
        if begins and low <= begins <= high:
            found.append((begins, name, "comes onto the menu"))
        if ends and low <= ends <= high:
            found.append((ends, name, "last day on the menu"))
    dishes = {i: (name, begins) for i, name, begins in connection.execute("select id, name, from_on from recipes")}
    for rows in standing(connection).values():
        name = dishes.get(rows[0].dish_id, (rows[0].trial, None))[0]
        for p in rows:
            was, name = name, called(p, name)
            if low <= p.from_on <= high and dishes.get(p.dish_id, ("", None))[1] != p.from_on:
                more = "" if name == was else f", and is called {name}"
                found.append((p.from_on, was, f"is made by version {p.version} from now on{more}"))
    return sorted(found)
