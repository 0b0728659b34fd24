"""/batch/ID: one batch, as its label's code opens it: what, when, how much, which lots, until when."""

from __future__ import annotations

import json
import sqlite3
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Any

from stillroom.db.allergen_kitchen import kitchen
from stillroom.db.cook_units import Style, say, style_of
from stillroom.db.date_marks import Keeps, Life, keeps, stays
from stillroom.db.exact import exact_text, read_exact
from stillroom.db.kitchen import settings
from stillroom.plugins.book.declared import Declared
from stillroom.plugins.book.labels import first_to_end, lots_in
from stillroom.plugins.book.pages import declared_of
from stillroom.plugins.book.rows import ask
from stillroom.plugins.core.auth import decide, role_of
from stillroom.plugins.core.pages import NotFound, page, query

NO_BATCH = "There is no batch of that number. Look for its lot on the page Search."
TAKEN_BACK = "This batch was taken back: it was written down by mistake. Ask whoever made the label."


@dataclass(frozen=True)
class Batch:
    """One batch as it stands in the log. use_by is the day that was written down; None: none was."""

    id: int
    recipe_id: str
    name: str
    status: str | None
    lot: str
    made_on: str
    made_at: str | None
    quantity: Fraction
    unit: str
    use_by: str | None
    frozen_on: str | None
    thawed_on: str | None
    from_lots: str
    station: str
    actor: str
    note: str
    shelf_life_days: int | None
    no_date_mark: str

    @property
    def has_card(self) -> bool:
        return self.status is not None


@dataclass(frozen=True)
class Lot:
    """A lot that went in: a batch of our own (id), a delivery, or a code that nothing else here knows."""

    code: str
    name: str
    batch: int | None
    use_by: str | None


@dataclass(frozen=True)
class Went:
    """A batch that this one went into."""

    id: int
    name: str
    lot: str
    made_on: str


@dataclass(frozen=True)
class Use:
    """Some of the batch used or thrown away, in words."""

    what: str
    on: str
    said: str
    reason: str


@dataclass(frozen=True)
class BatchPage:
    """A batch with all that its label could not hold.

    said: how much was made; left: what is left by the uses written down. earlier: a lot within that ends before it.
    corrected_from: the number on the label, where a later entry corrected it.
    """

    batch: Batch
    said: str
    left: str
    keeps: Keeps
    use_by: str | None
    is_over: bool
    freezes: list[tuple[str, str]]
    lots: list[Lot]
    earlier: tuple[str, str] | None
    uses: list[Use]
    went_into: list[Went]
    declared: Declared | None
    loaded_on: date | None
    today: date
    corrected_from: int | None
    may_trace: bool
    units: str
    minimums: tuple[()] = ()

    def as_json(self) -> dict[str, Any]:
        """The batch as data."""
        b = self.batch
        return {
            "id": b.id, "recipe": b.recipe_id, "name": b.name, "lot": b.lot, "made_on": b.made_on,
            "quantity": exact_text(b.quantity), "unit": b.unit, "use_by": self.use_by, "is_over": self.is_over,
            "lots": [vars(lot) for lot in self.lots], "uses": [vars(use) for use in self.uses],
            "went_into": [vars(one) for one in self.went_into],
            "allergens": None if self.declared is None else self.declared.text,
        }  # fmt: skip


@page("book/batch.html", needs="labels", parts="batch")
async def batch(datasette: Any, request: Any) -> BatchPage:
    may_trace, wanted = decide(role_of(request.actor), "trace"), int(request.url_vars["batch"])
    return await query(datasette, lambda connection: batch_page(connection, wanted, may_trace))


def find_batch(connection: sqlite3.Connection, wanted: int) -> Batch:
    """A batch by the number on its label; where it was corrected, the entry that stands now.

    Raises:
        NotFound: there is none, or it was taken back.
    """
    number: int | None = wanted
    while number is not None:
        row = next(iter(ask(connection, "batch", batch=number)), None)
        if row is None:
            raise NotFound(NO_BATCH)
        *own, stands, number = row
    if not stands:
        raise NotFound(TAKEN_BACK)
    own[7] = read_exact(own[7])
    return Batch(*own)


def read_freezes(connection: sqlite3.Connection, of: Batch) -> list[tuple[str, str]]:
    """(what, day) of every move into the freezer and out of it: those of its own entry, then those since."""
    own = [(what, day) for what, day in (("frozen", of.frozen_on), ("thawed", of.thawed_on)) if day]
    moves = ask(connection, "batch_freezes", recipe=of.recipe_id, lot=of.lot) if of.lot else []
    return own + [(what, day) for what, day in moves if (what, day) not in own]


def keeps_of(of: Batch, moves: list[tuple[str, str]]) -> Keeps:
    """How long a batch keeps: by the day that was written down for it, else by its recipe; the freezer stops either."""
    written = date.fromisoformat(of.use_by) if of.use_by else None
    return keeps(date.fromisoformat(of.made_on), Life(of.shelf_life_days, of.no_date_mark), stays(moves), written)


def iso(day: date | None) -> str | None:
    """A day as the log keeps it."""
    return None if day is None else day.isoformat()


def read_lots(connection: sqlite3.Connection, of: Batch) -> list[Lot]:
    """The lots that went into a batch, each with what it is: things of one delivery may share a code."""
    codes = lots_in(of.from_lots)
    said = {"lots": json.dumps(codes), "day": of.made_on}
    found: dict[str, dict[str, Lot]] = {}
    for code, name, use_by, _ in ask(connection, "delivered_within", recipe=of.recipe_id, **said):
        found.setdefault(code, {}).setdefault(name, Lot(code, name, None, use_by))
    for code, number, name, use_by, _ in reversed(ask(connection, "lots_within", **said)):
        found[code] = {name: Lot(code, name, number, use_by)}
    return [lot for code in codes for lot in found.get(code, {"": Lot(code, "", None, None)}).values()]


def earlier_lot(own: str | None, lots: list[Lot]) -> tuple[str, str] | None:
    """A lot within that must be used before the batch: (its name and code, its day)."""
    ends = [(f"{lot.name} {lot.code}".strip(), date.fromisoformat(lot.use_by) if lot.use_by else None) for lot in lots]
    first = first_to_end(date.fromisoformat(own) if own else None, ends)
    return None if first is None else (first[0], first[1].isoformat())


def batch_page(connection: sqlite3.Connection, wanted: int, may_trace: bool) -> BatchPage:
    """Everything of one batch.

    Raises:
        NotFound: see `find_batch`.
    """
    of, style, here = find_batch(connection, wanted), style_of(settings(connection)), kitchen(connection)
    moves = read_freezes(connection, of)
    by_rule, lots = keeps_of(of, moves), read_lots(connection, of)
    use_by, rows = iso(by_rule.last_on), ask(connection, "batch_uses", batch=of.id)
    went = ask(connection, "made_with", lot=of.lot, day=of.made_on) if of.lot else []
    return BatchPage(
        of, say(of.quantity, of.unit, style).text, _left(of, rows, style), by_rule, use_by,
        use_by is not None and use_by < here.today.isoformat(), moves, lots, earlier_lot(use_by, lots),
        [Use(what, on, say(read_exact(q), of.unit, style).text, reason) for what, on, q, reason in rows],
        [Went(*row) for row in went], declared_of(connection, of.recipe_id) if of.has_card else None, here.loaded_on,
        here.today, wanted if wanted != of.id else None, may_trace and bool(of.lot),
        here.settings["units"],
    )  # fmt: skip


def _left(of: Batch, rows: list[tuple[Any, ...]], style: Style) -> str:
    """What is left by the uses written down; '' where none was."""
    left = of.quantity - sum((read_exact(row[2]) for row in rows), Fraction(0))
    return say(max(left, Fraction(0)), of.unit, style).text if rows else ""
