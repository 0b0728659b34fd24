"""What an address asks for: day, basis, yields; a wrong figure is said and the usual one taken."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from typing import Any
from urllib.parse import urlencode

from stillroom.db.kitchen import day_of, settings
from stillroom.db.number import whole
from stillroom.db.quantity import ReadError, read_date, read_number
from stillroom.plugins.core.format import day as say_day
from stillroom.plugins.costing.compute import Choice
from stillroom.plugins.costing.house import MEASURED, SPEC
from stillroom.plugins.costing.prices import AVERAGE, BASES, LAST

MOVED_OVER = timedelta(days=28)
MOST_DIGITS = 30


@dataclass(frozen=True)
class Asked:
    """The choice, the earlier day it is compared with, and what was wrong in the address."""

    choice: Choice
    since: str
    today: date
    currency: str
    system: str
    mark: str
    wrong: tuple[str, ...]

    @property
    def by(self) -> str:
        """How it is reckoned: price basis, yields, tax."""
        c = self.choice
        basis = f"{c.basis} of {c.days} days" if c.basis == AVERAGE else c.basis
        return f"price by {basis}, yields {c.yields}, without tax, on {c.day}"

    @property
    def query(self) -> str:
        """The same choice as part of an address."""
        c = self.choice
        return urlencode({"on": c.day, "from": self.since, "basis": c.basis, "days": c.days, "yields": c.yields})

    def as_json(self) -> dict[str, Any]:
        c = self.choice
        return {"on": c.day, "from": self.since, "basis": c.basis, "average_days": c.days, "yields": c.yields,
                "currency": self.currency, "wrong": list(self.wrong)}  # fmt: skip


def read_asked(connection: sqlite3.Connection, args: Any, span: timedelta = MOVED_OVER) -> Asked:
    """The choice of an address on the kitchen's own settings."""
    said = settings(connection)
    today = day_of(said)
    wrong: list[str] = []
    on = _day(args, "on", today, wrong)
    since = _day(args, "from", date.fromisoformat(on) - span, wrong)
    if since > on:
        since, on = on, since
        wrong.append("The first day was after the last: turned round.")
    if on > today.isoformat():
        wrong.append(f"{say_day(on, today)} lies ahead: its menu, with the prices, recipes and sales known today.")
    usual = said["price basis"] if said["price basis"] in BASES else LAST
    basis = _one_of(args, "basis", BASES, usual, wrong)
    yields = _one_of(args, "yields", (SPEC, MEASURED), SPEC, wrong)
    days = _days(args.get("days") or said["average days"], wrong)
    return Asked(Choice(on, basis, days, yields), since, today, said["currency"], said["units"], said["decimal mark"],
                 tuple(wrong))  # fmt: skip


def _day(args: Any, name: str, usual: date, wrong: list[str]) -> str:
    try:
        return read_date(args[name][:40]) if args.get(name) else usual.isoformat()
    except ReadError as error:
        wrong.append(f"{error.what}: {error.do}.")
        return usual.isoformat()


# What a choice is called on the page.
CALLED = {"basis": "The price", "yields": "What is left of a thing after trimming"}


def _one_of(args: Any, name: str, allowed: tuple[str, ...], usual: str, wrong: list[str]) -> str:
    said = args.get(name) or usual
    if said in allowed:
        return str(said)
    wrong.append(f"{CALLED[name]} can be: {', '.join(allowed)}. It was taken as {usual}.")
    return usual


def _days(said: str, wrong: list[str]) -> int:
    days = whole(said, 3660, 1)
    if days is not None:
        return days
    wrong.append("An average looks back over 1 to 3660 days: 28 taken.")
    return 28


def figure(args: Any, name: str, mark: str, wrong: list[str]) -> Fraction | None:
    """A number of an address in the kitchen's decimal mark; None where it is empty or can't be read (which is said)."""
    text = (args.get(name) or "").strip()
    if not text:
        return None
    try:
        if len(text) > MOST_DIGITS:
            raise ReadError("number-long", "the number is too long", "", "write it shorter")
        return read_number(text, mark)
    except ReadError as error:
        wrong.append(f"{name}: {error.what}. {error.do}.")
        return None
