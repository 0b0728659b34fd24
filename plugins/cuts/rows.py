"""From the kitchen's file to lots, cuts and breakdowns."""

from __future__ import annotations

import sqlite3
from datetime import date
from fractions import Fraction
from typing import Any

from stillroom.db.named_sql import load
from stillroom.plugins.cuts.compute import Cut, Lot, Weighing, credit_per_gram, measured_trim

Broken = tuple[str, str, Fraction, Fraction, int]  # code, day, weight in, weight of portions, pieces


def ask(connection: sqlite3.Connection, name: str, **said: Any) -> list[tuple[Any, ...]]:
    """Rows of one of the feature's questions."""
    return connection.execute(load("stillroom.plugins.cuts")[name], said).fetchall()


def read_breakdowns(connection: sqlite3.Connection, day: str) -> dict[str, list[Broken]]:
    """Cut -> its breakdowns, newest first."""
    found: dict[str, list[Broken]] = {}
    for cut, code, on, came, out, pieces in ask(connection, "breakdowns", day=day):
        found.setdefault(cut, []).append((code, on, Fraction(came), Fraction(out), pieces or 0))
    return found


def read_lots(connection: sqlite3.Connection, day: date) -> list[Lot]:
    """Every lot that had begun on a day, with its weighings until then, in order of start."""
    weighings: dict[str, list[Weighing]] = {}
    for code, on, grams, room, humidity, _ in ask(connection, "weigh_ins", day=day.isoformat()):
        weighings.setdefault(code, []).append(Weighing(date.fromisoformat(on), Fraction(grams), room, humidity))
    broken = read_breakdowns(connection, day.isoformat())
    parts: dict[str, list[tuple[str, Fraction, Fraction | None]]] = {}
    for cut, name, share, price, buys in ask(connection, "by_products"):
        each = Fraction(price) / Fraction(buys) if price is not None and buys else None
        parts.setdefault(cut, []).append((name, Fraction(share), each))
    rows = ask(connection, "lots", day=day.isoformat())
    return [_lot(row, weighings.get(row[0], []), broken, parts) for row in rows]


def _lot(row: tuple[Any, ...], weighings: list[Weighing], broken: Any, parts: Any) -> Lot:
    code, _, item, cut, cut_name, started, start, target, place, length, price, paid, buys, *rest = row
    trim, portion, over, note = rest
    chosen = None
    if cut is not None:
        found = measured_trim([(came, out) for _, _, came, out, _ in broken.get(cut, [])])
        share, source = (found[0], f"measured here, n {found[1]}") if found else (
            (Fraction(trim), "as written") if trim else (None, ""))  # fmt: skip
        credit, without = credit_per_gram(parts.get(cut, []))
        chosen = Cut(cut, cut_name, share, Fraction(portion) if portion else None, source, credit, without)
    money = Fraction(price) if price is not None else None
    if money is None and paid is not None and buys:
        money = Fraction(paid) / Fraction(buys) * Fraction(start)
    begun = date.fromisoformat(started)
    after = tuple(w for w in weighings if w.on > begun)
    ended = date.fromisoformat(over) if over else None
    return Lot(code, item, begun, Fraction(start), target, place, money or None, after, chosen, ended, length, note)
