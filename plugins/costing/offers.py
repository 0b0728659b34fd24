"""What cost adds to other pages: plates over target on the first, a dish's cost, what a substitute does to it."""

from __future__ import annotations

import json
import sqlite3
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from typing import Any

from stillroom.db.units import substitute_quantity
from stillroom.plugins.core.format import amount, money, percent
from stillroom.plugins.core.parts import Offer
from stillroom.plugins.costing.asked import Asked, read_asked
from stillroom.plugins.costing.compute import (
    Alert,
    Odd,
    Part,
    Plate,
    Step,
    alerts,
    bridge,
    odd_prices,
    parts,
    plate,
    plates,
)
from stillroom.plugins.costing.house import Recipe
from stillroom.plugins.costing.prices import ZERO
from stillroom.plugins.costing.rows import SOLD, ask, costed_from, once, read_house, read_sheet, read_weekly
from stillroom.plugins.costing.said import (
    OfAPlate,
    alert_json,
    alert_said,
    cash,
    odd_said,
    plate_json,
    plate_said,
    signed,
)
from stillroom.plugins.costing.told import parts_of, plate_of, steps_of, told_for
from stillroom.plugins.costing.whatif import Change, Moved, what_if
from stillroom.plugins.costing.whatif_cuts import NotPossible

SHOWN = 6


@dataclass(frozen=True)
class OverTarget:
    """Plates over their target today with the items that did it, and prices that want to be looked at."""

    alerts: list[Alert]
    odd: list[Odd]
    incomplete: int
    since: date

    @property
    def over(self) -> list[dict[str, Any]]:
        return [alert_said(a) for a in self.alerts[:SHOWN]]

    @property
    def asked(self) -> list[dict[str, str]]:
        """Prices to look at, in words."""
        return [odd_said(o) for o in self.odd[:SHOWN]]

    def as_json(self) -> dict[str, Any]:
        return {"over_target": [alert_json(a) for a in self.alerts], "incomplete": self.incomplete,
                "prices_to_check": [odd_said(o) for o in self.odd]}  # fmt: skip


def home(connection: sqlite3.Connection, _: str, __: str) -> OverTarget | None:
    """For the first page; nothing where no plate is over and no price is odd."""
    asked = read_asked(connection, {})
    return once(connection, ("home", asked.choice, asked.since), lambda: _home(connection, asked),
                costed_from(asked.choice))  # fmt: skip


def _home(connection: sqlite3.Connection, asked: Asked) -> OverTarget | None:
    house, now = read_house(connection, asked.choice.day), read_sheet(connection, asked.choice)
    found = alerts(house, read_sheet(connection, replace(asked.choice, day=asked.since)), now)
    odd = odd_prices(house, now)
    incomplete = sum(p.each is None for p in plates(house, now))
    return OverTarget(found, odd, incomplete, date.fromisoformat(asked.since)) if found or odd or incomplete else None


@dataclass(frozen=True)
class PlateCost(OfAPlate):
    """What a dish or recipe costs today, for one `unit` and for a batch, its dearest items, and what moved it over the
    last four weeks.
    """

    plate: Plate
    recipe: Recipe
    unit: str
    batch: Plate
    parts: list[Part]
    steps: list[Step] | None
    asked: Asked

    @property
    def in_batch(self) -> str:
        """How much one batch makes, where that is another amount than the cost is told for: '800 ml'."""
        r = self.recipe
        return "" if r.kind == "dish" or r.made == told_for(r)[0] else amount(r.made, r.unit, self.asked.system)

    @property
    def batch_said(self) -> str:
        return plate_said(self.batch)["cost"]

    @property
    def dearest(self) -> list[tuple[str, str]]:
        return [(p.name, money(p.cost)) for p in self.parts if p.cost is not None][:3]

    @property
    def moved(self) -> str:
        """The difference to four weeks ago, with the item behind most of it."""
        if self.steps is None:
            return ""
        total = signed(sum((s.money for s in self.steps), ZERO))
        return f"{total}, most by {self.steps[0].name} ({self.steps[0].what})" if self.steps else total

    def as_json(self) -> dict[str, Any]:
        steps = None if self.steps is None else [{"item": s.name, "what": s.what, "money": cash(s.money, 4)}
                                                 for s in self.steps]  # fmt: skip
        return {**plate_json(self.plate), "of": f"1 {self.unit}", "batch": cash(self.batch.each), "moved": steps}


def of_plate(connection: sqlite3.Connection, subject: str, _: str) -> PlateCost | None:
    """For the page of a dish or recipe."""
    asked = read_asked(connection, {})
    house = read_house(connection, asked.choice.day)
    if subject not in house.recipes:
        return None
    now, before = read_sheet(connection, asked.choice), read_sheet(connection, replace(asked.choice, day=asked.since))
    recipe = house.recipes[subject]
    size, unit = told_for(recipe)
    return PlateCost(plate_of(plate(house, now, subject), size), recipe, unit,
                     plate_of(plate(house, now, subject), recipe.made), parts_of(parts(house, now, subject), size),
                     steps_of(bridge(before, now, subject), size), asked)  # fmt: skip


@dataclass(frozen=True)
class Exchange:
    """A substitute in money: dishes that it moves, the most weekly money first; wrong: why it can't be reckoned."""

    old: str
    new: str
    within: str
    moved: list[Moved]
    wrong: str

    @property
    def rows(self) -> list[dict[str, str]]:
        return [_row(m) for m in self.moved]

    @property
    def weekly(self) -> str:
        """Money a week of all dishes together; '' where one of them has no whole cost."""
        known = [m.weekly for m in self.moved if m.weekly is not None]
        return signed(sum(known, ZERO)) if len(known) == len(self.moved) else ""


def _row(m: Moved) -> dict[str, str]:
    whole = "incomplete" if m.after is None else money(m.after)
    share = percent(m.after / m.price) if m.after is not None and m.price else ""
    return {"id": m.id, "name": m.name, "before": "incomplete" if m.before is None else money(m.before),
            "after": whole, "by": signed(m.by) if m.by is not None else "", "share": share,
            "weekly": signed(m.weekly) if m.weekly is not None else ""}  # fmt: skip


@dataclass(frozen=True)
class Exchanges:
    """All listed substitutes for what is short, in money."""

    found: list[Exchange]
    currency: str

    def as_json(self) -> list[dict[str, Any]]:
        return [{"instead_of": x.old, "use": x.new, "in": x.within or None, "cannot": x.wrong or None,
                 "dishes": [{"id": m.id, "before": cash(m.before, 4), "after": cash(m.after, 4), "by": cash(m.by, 4),
                             "weekly_money": cash(m.weekly)} for m in x.moved]} for x in self.found]  # fmt: skip


def of_short(connection: sqlite3.Connection, subject: str, _: str) -> Exchanges | None:
    """For the page of what is short; nothing without a listed substitute."""
    rows = ask(connection, "substitutes", subject=subject)
    if not rows:
        return None
    asked = read_asked(connection, {})
    return once(connection, ("short", subject, asked.choice), lambda: _exchanges(connection, rows, asked),
                costed_from(asked.choice) | SOLD)  # fmt: skip


def _exchanges(connection: sqlite3.Connection, rows: list[tuple[Any, ...]], asked: Asked) -> Exchanges:
    return Exchanges([_exchange(connection, row, asked.choice) for row in rows], asked.currency)


def _exchange(connection: sqlite3.Connection, row: tuple[Any, ...], choice: Any) -> Exchange:
    _, old_id, old, new_id, new, within, inside, ratio, ratio_unit, old_unit, new_unit, *measured = row
    measures = {name: Fraction(q) for text in measured for name, q in json.loads(text).items()}
    each = substitute_quantity(Fraction(ratio), old_unit, new_unit, ratio_unit, measures)
    if each is None:
        return Exchange(old, new, inside, [], f"kept in {new_unit}, the original in {old_unit}: add a measure")
    house, sheet = read_house(connection, choice.day), read_sheet(connection, choice)
    change = Change(old_id, instead=new_id, ratio=each, within=within)
    try:
        moved = what_if(house, sheet, change, read_weekly(connection, house, choice.day))
    except NotPossible as error:
        return Exchange(old, new, inside, [], str(error))
    return Exchange(old, new, inside, moved, "")


OFFERS = (
    Offer("home", "cost", "cost", "costing/on_home.html", home, 40),
    Offer("dish", "cost", "cost", "costing/on_plate.html", of_plate, 40),
    Offer("recipe", "cost", "cost", "costing/on_plate.html", of_plate, 40),
    Offer("short", "substitute_cost", "cost", "costing/on_short.html", of_short, 20),
)
