"""From the kitchen's file to lots, cuts and breakdowns."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Any

from stillroom.db.named_sql import asker
from stillroom.plugins.cuts.compute import Cut, Lot, Promise, Weighing, credit_per_gram, measured_trim

Broken = tuple[str, str, Fraction, Fraction, int]  # code, day, weight in, weight of portions, pieces


ask = asker("stillroom.plugins.cuts")


def read_breakdowns(connection: sqlite3.Connection, day: str) -> dict[str, list[Broken]]:
    """Cut -> its breakdowns, newest first, portions of one breakdown together."""
    found: dict[str, dict[str, Broken]] = {}
    for cut, code, on, came, out, pieces in ask(connection, "breakdowns", day=day):
        before = found.setdefault(cut, {}).get(code)
        whole = Fraction(out) + (before[3] if before else 0)
        found[cut][code] = (code, on, Fraction(came), whole, (pieces or 0) + (before[4] if before else 0))
    return {cut: list(rows.values()) for cut, rows in found.items()}


def read_promises(connection: sqlite3.Connection, day: date) -> list[Promise]:
    """Portions promised to services from a day on."""
    return [
        Promise(entry, lot, date.fromisoformat(on), count, Fraction(each), what_for, actor)
        for entry, lot, on, count, each, what_for, actor in ask(connection, "promises", day=day.isoformat())
    ]


@dataclass(frozen=True)
class Known:
    """What is known of a cut beside its lots: trim of its piece, written and measured, and credits for one gram."""

    name: str
    portion_g: Fraction | None
    trim: Fraction
    measured: tuple[Fraction, int] | None
    credit: Fraction
    uncredited: tuple[str, ...]
    parts: tuple[tuple[str, Fraction, Fraction | None], ...]


def read_cuts(connection: sqlite3.Connection, day: str) -> dict[str, Known]:
    """Every cut by id; cuts that come out of one piece together are judged by the whole piece."""
    rows = ask(connection, "cuts")
    broken = read_breakdowns(connection, day)
    parts: dict[str, list[tuple[str, Fraction, Fraction | None]]] = {}
    for cut, name, share, price, buys, _ in ask(connection, "by_products"):
        each = Fraction(price) / Fraction(buys) if price is not None and buys else None
        parts.setdefault(cut, []).append((name, Fraction(share), each))
    found = {}
    for cut, name, portion, _, joint in rows:
        mates = [m for m in rows if m[0] == cut or (joint and m[4] == joint)]
        trim = 1 - sum((1 - Fraction(m[3]) for m in mates), Fraction(0))
        seen = sorted((b for m in mates for b in broken.get(m[0], [])), key=lambda b: b[1], reverse=True)
        own = tuple(p for m in mates for p in parts.get(m[0], []))
        credit, without = credit_per_gram(own)
        measured = measured_trim([(came, out) for _, _, came, out, _ in seen])
        found[cut] = Known(name, Fraction(portion) if portion else None, trim, measured, credit, without, own)
    return found


def read_lots(connection: sqlite3.Connection, day: date) -> list[Lot]:
    """Every lot that had begun on a day, with its weighings until then, in order of start."""
    weighings: dict[str, list[Weighing]] = {}
    for code, on, grams, room, humidity, _ in ask(connection, "weigh_ins", day=day.isoformat()):
        weighings.setdefault(code, []).append(Weighing(date.fromisoformat(on), Fraction(grams), room, humidity))
    cuts = read_cuts(connection, day.isoformat())
    return [_lot(row, weighings.get(row[0], []), cuts) for row in ask(connection, "lots", day=day.isoformat())]


def _lot(row: tuple[Any, ...], weighings: list[Weighing], cuts: dict[str, Known]) -> Lot:
    code, _, item, cut, _, started, start, target, place, length, price, paid, buys, *rest = row
    over, note = rest
    chosen = None
    known = cuts.get(cut)
    if known is not None:
        share, source = (known.trim, "as written")
        if known.measured is not None:
            share, source = known.measured[0], f"measured here, n {known.measured[1]}"
        chosen = Cut(cut, known.name, share, known.portion_g, source, known.credit, known.uncredited)
    money = Fraction(price) if price is not None else None
    if money is None and paid is not None and buys:
        money = Fraction(paid) / Fraction(buys) * Fraction(start)
    begun = date.fromisoformat(started)
    after = tuple(w for w in weighings if w.on > begun)
    ended = date.fromisoformat(over) if over else None
    return Lot(code, item, begun, Fraction(start), target, place, money or None, after, chosen, ended, length, note)
