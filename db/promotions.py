"""A version of a trial becomes a dish: from a day on, and again after every load until the files hold the dish.

A promotion is a row of a log. `apply_due` makes the kitchen's tables say what the log says: the web calls it when
somebody promotes a version and when a new day begins, a load when it has replaced the tables. A recipe whose own
`version` is that of its newest promotion is left as it is: its files hold it.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from typing import Any

from stillroom.db.book_versions import keep_versions
from stillroom.db.drafts import Checked, Draft, check_in, problem, read_lines, told
from stillroom.db.exact import exact_text
from stillroom.db.explosion import derive_again, forget
from stillroom.db.named_sql import load
from stillroom.db.names import slug
from stillroom.db.problems import Place, Problem
from stillroom.db.quantity import ReadError
from stillroom.db.recipe_lines import Names, names_of

ABSENT = "absent"


@dataclass(frozen=True)
class Promotion:
    """One promotion that counts. from_on, to_on: ISO dates. name: what the version calls the dish; '' = as it was."""

    id: int
    trial_id: str
    trial: str
    version: int
    dish_id: str
    from_on: str
    to_on: str | None
    actor: str
    name: str = ""


class Unread(ValueError):
    """A promoted version can't become the dish: its problems say why."""

    def __init__(self, promotion: Promotion, problems: Mapping[str, Problem]) -> None:
        super().__init__(f"{promotion.trial}, version {promotion.version}")
        self.promotion, self.problems = promotion, problems


def standing(connection: sqlite3.Connection) -> dict[str, list[Promotion]]:
    """Dish -> its promotions that count, in the order in which they come into force."""
    found: dict[str, list[Promotion]] = {}
    for row in connection.execute(load("stillroom.db")["promoted"]):
        found.setdefault(row[4], []).append(Promotion(*row))
    return found


def called(promotion: Promotion, now: str | None) -> str:
    """What a dish is called once a promotion is in force.

    A version that says no name keeps the dish's, but for one that another version gave it: that ends with the version.

    Args:
        now: what it is called before; None = it is not there yet.
    """
    if promotion.name:
        return promotion.name
    is_another = promotion.trial_id != promotion.dish_id
    return now if now and (is_another or slug(now) == promotion.dish_id) else promotion.trial


def in_force(rows: list[Promotion], status: str, day: date) -> Promotion | None:
    """The promotion that a recipe should be made of on a day.

    Args:
        rows: the dish's promotions, in order.
        status: of the recipe: 'active', 'draft', 'retired' or ABSENT. What nobody is served yet is made of its first
            promotion ahead of the day, so that it can be costed and prepared; its season keeps it off the menu.
    """
    on = day.isoformat()
    begun = [p for p in rows if p.from_on <= on]
    if begun:
        return begun[-1]
    return rows[0] if status != "active" else None


def ahead(connection: sqlite3.Connection, day: date) -> list[Promotion]:
    """Promotions of dishes that are served already, whose day is still to come."""
    on = day.isoformat()
    return [p for rows in standing(connection).values() for p in rows if p.from_on > on]


def overdue(connection: sqlite3.Connection, day: date) -> list[Promotion]:
    """Promotions that should be in force and are not: their version can't be read, or nothing has looked yet."""
    found = []
    for dish, rows in standing(connection).items():
        row = connection.execute("select status, version from recipes where id = ?", (dish,)).fetchone()
        status, version = row or (ABSENT, None)
        promotion = in_force(rows, status, day)
        if promotion is not None and version != promotion.version:
            found.append(promotion)
    return found


def why_not(connection: sqlite3.Connection, promotion: Promotion, with_money: bool) -> list[str]:
    """Why a version can't be the dish, in words; [] = it can. with_money: whether sums may be told."""
    draft = _draft(connection, promotion)
    if draft is None:
        return ["there is no such version"]
    problems = check_in(connection, draft, promotion.dish_id, names_of(connection)).problems
    return list(told(problems, with_money).values())


def _draft(connection: sqlite3.Connection, promotion: Promotion) -> Draft | None:
    """The version that is promoted, by the name that the dish will have; None where there is none."""
    draft = version_of(connection, promotion.trial_id, promotion.version)
    return None if draft is None else replace(draft, name=called(promotion, _name(connection, promotion.dish_id)))


def _name(connection: sqlite3.Connection, dish: str) -> str | None:
    found = connection.execute("select name from recipes where id = ?", (dish,)).fetchone()
    return found[0] if found else None


def apply_due(connection: sqlite3.Connection, day: date, now: str, stuck: list[Unread] | None = None) -> list[str]:
    """Makes every recipe what its promotion in force says; ids of those that were not so before.

    Args:
        connection: inside a transaction.
        day: the kitchen's.
        now: UTC instant.
        stuck: versions that can't be read are put here, and all others come into force.

    Raises:
        Unread: a version can't be read against the items and recipes that there are now, and `stuck` is not given.
    """
    changed = []
    for dish, rows in standing(connection).items():
        found = connection.execute("select status, version from recipes where id = ?", (dish,)).fetchone()
        status, version = found or (ABSENT, None)
        promotion = in_force(rows, status, day)
        if promotion is not None and version != promotion.version and _is_become(connection, promotion, stuck):
            changed.append(dish)
    if changed:
        keep_versions(connection, day.isoformat(), now)
    return changed


def _is_become(connection: sqlite3.Connection, promotion: Promotion, stuck: list[Unread] | None) -> bool:
    """Makes a recipe what a version says, all of it or nothing; False where it can't be read, which goes to `stuck`."""
    connection.execute("savepoint become")
    try:
        become(connection, promotion)
    except Unread as error:
        connection.execute("rollback to become")
        if stuck is None:
            raise
        stuck.append(error)
        return False
    finally:
        connection.execute("release become")
    return True


def become(connection: sqlite3.Connection, promotion: Promotion) -> None:
    """Makes a recipe what a version says.

    Raises:
        Unread: the version can't be read.
    """
    draft = _draft(connection, promotion)
    if draft is None:
        raise Unread(promotion, {})
    names = names_of(connection)
    checked = check_in(connection, draft, promotion.dish_id, names)
    if checked.problems or checked.made is None:
        raise Unread(promotion, checked.problems)
    forget(connection, promotion.dish_id)
    weighed = _weight(connection, promotion.dish_id)
    _head(connection, promotion, draft, checked)
    _lines(connection, promotion.dish_id, draft, checked)
    _left_over(connection, promotion.dish_id, weighed)
    _used_by(connection, promotion, names)
    derive_again(connection, promotion.dish_id)


def problems_of(error: Unread) -> list[Problem]:
    """Why a load can't be: a promoted version no longer fits the files."""
    said = f"{error.promotion.trial}, version {error.promotion.version}, promoted from {error.promotion.from_on}"
    fix = "bring the name back into the files, or write the dish itself there with its version"
    if "name" in error.problems:
        fix = f"write `first called: {error.promotion.trial}` in the recipe that the dish became, or rename the other"
    inner = list(error.problems.values())
    if not inner:
        return [Problem("promotion-unread", Place(said), "there is no such version", "", fix)]
    return [Problem("promotion-unread", Place(said), p.what, p.why, fix) for p in inner]


def version_of(connection: sqlite3.Connection, trial: str, version: int) -> Draft | None:
    """A version of a trial as a draft; None where there is none."""
    row = connection.execute(
        "select iif(name = '', trial, name), kind, section, yield_text, price, target_cost, station, surfaces, lines,"
        " method, note from standing_trial_versions where trial_id = ? and version = ? order by id desc",
        (trial, version),
    ).fetchone()  # fmt: skip
    if row is None:
        return None
    name, kind, section, made, price, target, station, surfaces, lines, method, note = row
    over = tuple(s.strip() for s in surfaces.split(";") if s.strip())
    steps = tuple(s.strip() for s in method.splitlines() if s.strip())
    return Draft(name, kind, section, made, price, target, station, over, read_lines(lines), steps, note)


def _head(connection: sqlite3.Connection, promotion: Promotion, draft: Draft, checked: Checked) -> None:
    """The recipe's own row: what the draft says; what it does not speak of stays as it is."""
    said: dict[str, Any] = {
        "id": promotion.dish_id, "name": draft.name, "kind": draft.kind, "section": draft.section,
        "status": "active", "yield_quantity": exact_text(checked.made or 1), "yield_unit": checked.unit,  # type: ignore[arg-type]
        "yield_text": draft.yield_text, "station_id": checked.station,
        "menu_price": None if checked.price is None else str(checked.price),
        "target_cost_pct": None if checked.target is None else exact_text(checked.target * 100),
        "note": draft.note, "version": promotion.version, "first_called": _first(connection, promotion, draft.name),
        "origin": f"version {promotion.version} of its trial, promoted from {promotion.from_on}",
    }  # fmt: skip
    found = connection.execute(
        "select status, from_on, to_on from recipes where id = ?", (promotion.dish_id,)
    ).fetchone()
    status, first, last = found or (ABSENT, None, None)
    said["from_on"] = first if status == "active" and (first or "") <= promotion.from_on else promotion.from_on
    said["to_on"] = promotion.to_on or (last if last and last >= promotion.from_on else None)
    columns = ", ".join(said)
    marks = ", ".join(f":{column}" for column in said)
    fresh = ", ".join(f"{column} = excluded.{column}" for column in said if column != "id")
    connection.execute(
        f"insert into recipes ({columns}) values ({marks}) on conflict (id) do update set {fresh}", said,
    )  # fmt: skip


def _first(connection: sqlite3.Connection, promotion: Promotion, name: str) -> str:
    """The name that a dish's id is made of, where it is to have another; '' where that is its name, or nobody knows."""
    dish = promotion.dish_id
    row = connection.execute("select first_called, name from recipes where id = ?", (dish,)).fetchone() or ()
    known = (one for one in (*row, promotion.trial) if slug(one) == dish)
    return "" if slug(name) == dish else next(known, "")


def _lines(connection: sqlite3.Connection, dish: str, draft: Draft, checked: Checked) -> None:
    """Components, method and surfaces in the place of those that were."""
    for table in ("components", "method_steps", "recipe_surfaces"):
        connection.execute(f"delete from {table} where recipe_id = ?", (dish,))
    (last,) = connection.execute("select coalesce(max(id), 0) from components").fetchone()
    for n, part in enumerate(checked.components, 1):
        thing = part.read.thing
        row = {
            "id": last + n, "recipe_id": dish, "position": n, "line": part.line.text,
            "item_id": None if thing.is_recipe else thing.id, "sub_recipe_id": thing.id if thing.is_recipe else None,
            "quantity": exact_text(part.read.quantity), "amount": float(part.read.quantity), "unit": thing.unit,
            "said_quantity": part.read.number_text, "said_unit": part.read.unit_text,
            "edible_yield": None if part.edible is None else exact_text(part.edible),
            "is_removable": int(part.line.can_be_left_off), "scales": part.line.scales or "straight",
            "prep": part.read.prep,
        }  # fmt: skip
        columns, marks = ", ".join(row), ", ".join(f":{column}" for column in row)
        connection.execute(f"insert into components ({columns}) values ({marks})", row)
    connection.executemany(
        "insert into method_steps (recipe_id, position, text) values (?, ?, ?)",
        [(dish, n, step) for n, step in enumerate(draft.method, 1)],
    )
    connection.executemany("insert into recipe_surfaces values (?, ?)", [(dish, s) for s in checked.surfaces])


def _weight(connection: sqlite3.Connection, recipe: str) -> Fraction:
    """What goes into a batch by weight [g]: by-products are a share of it."""
    rows = connection.execute("select quantity from components where recipe_id = ? and unit = 'g'", (recipe,))
    return sum((Fraction(q) for (q,) in rows), Fraction(0))


def _left_over(connection: sqlite3.Connection, recipe: str, before: Fraction) -> None:
    """By-products follow the weight that goes in."""
    after = _weight(connection, recipe)
    rows = connection.execute("select position, quantity from by_products where recipe_id = ?", (recipe,)).fetchall()
    for position, quantity in rows if before else ():
        connection.execute(
            "update by_products set quantity = ? where recipe_id = ? and position = ?",
            (exact_text(Fraction(quantity) * after / before), recipe, position),
        )


def _used_by(connection: sqlite3.Connection, promotion: Promotion, before: Names) -> None:
    """Lines of other recipes that name this one, read again: a whole batch of it may be another quantity now.

    They say the name that it has now. before: the names that there were.
    """
    names, name = names_of(connection), _name(connection, promotion.dish_id) or ""
    is_renamed = name not in {thing.name for thing in before.by_name.values() if thing.id == promotion.dish_id}
    rows = connection.execute("select id, line from components where sub_recipe_id = ?", (promotion.dish_id,))
    for line, text in rows.fetchall():
        try:
            said = before.retold(text, name) if is_renamed else text
            read = names.read(said)
        except ReadError as error:
            raise Unread(promotion, {"yield": problem("yield", error)}) from error
        connection.execute(
            "update components set line = ?, quantity = ?, amount = ?, unit = ? where id = ?",
            (said, exact_text(read.quantity), float(read.quantity), read.thing.unit, line),
        )
