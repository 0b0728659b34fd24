"""Pieces that age: each lot with its weighings, the cut it hangs for, what is promised. Sums pure, reading at the end.

Used by what must know a lot: the ageing pages, and the prep list, which says when the next one must be hung.
Weights and money are exact.
"""

from __future__ import annotations

import sqlite3
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from typing import Any

from stillroom.db.named_sql import asker

ZERO = Fraction(0)
NEWEST = 5  # breakdowns that a measured share is taken from
USUAL = 10  # lots that a usual number of days is taken from
# Room of an ageing piece: 0 to 4 °C (Dashdorj et al. 2016, abstract); 75 to 85 % (Meat & Livestock Australia, excerpt).
ROOM_F = (32.0, 39.2)
HUMIDITY_PCT = (75.0, 85.0)

Broken = tuple[str, str, Fraction, Fraction, int]  # code, day, weight in, weight of portions, pieces


@dataclass(frozen=True)
class Weighing:
    """One weighing [g] with the room [°F] and its humidity [%]; None = not measured."""

    on: date
    weight_g: Fraction
    room_f: float | None
    humidity: float | None

    @property
    def out_of_range(self) -> tuple[str, ...]:
        """What is out of the published range, in words."""
        found = []
        if self.room_f is not None and not ROOM_F[0] <= self.room_f <= ROOM_F[1]:
            found.append(f"room {self.room_f:g} °F")
        if self.humidity is not None and not HUMIDITY_PCT[0] <= self.humidity <= HUMIDITY_PCT[1]:
            found.append(f"humidity {self.humidity:g} %")
        return tuple(found)


@dataclass(frozen=True)
class Cut:
    """What a lot is cut into: trim of the aged weight [0 to 1], portion [g], credit for one gram of start weight."""

    id: str
    name: str
    trim: Fraction | None
    portion_g: Fraction | None
    trim_source: str
    credit: Fraction = ZERO
    uncredited: tuple[str, ...] = ()


@dataclass(frozen=True)
class Lot:
    """One ageing piece. price: paid for the whole [money], None = not written. broken_on: the day it was cut up."""

    code: str
    item: str
    started: date
    start_g: Fraction
    target_days: int | None
    place: str
    price: Fraction | None
    weighings: tuple[Weighing, ...]
    cut: Cut | None
    broken_on: date | None
    length_cm: float | None = None
    note: str = ""

    @property
    def target(self) -> date | None:
        """The day it is meant for."""
        return None if self.target_days is None else self.started + timedelta(days=self.target_days)

    @property
    def last(self) -> Weighing:
        """The last weighing, or the start."""
        return self.weighings[-1] if self.weighings else Weighing(self.started, self.start_g, None, None)

    def days(self, on: date) -> int:
        """Days of ageing on a day; they end when it is broken down."""
        return (min(on, self.broken_on or on) - self.started).days

    @property
    def weighed(self) -> tuple[tuple[float, Fraction], ...]:
        """(day of ageing [d], weight [g]) of each weighing after the start, as the forecast takes them."""
        return tuple((float((w.on - self.started).days), w.weight_g) for w in self.weighings)


@dataclass(frozen=True)
class Promise:
    """Portions of a lot promised to a service. entry: its row; each_g: weight of one [g]."""

    entry: int
    lot: str
    on: date
    portions: int
    each_g: Fraction
    what_for: str
    by: str


def usable_g(lot: Lot, weight_g: Fraction | None) -> Fraction | None:
    """What is left after trim [g]; None where the weight or the trim is not known."""
    if weight_g is None or lot.cut is None or lot.cut.trim is None:
        return None
    return weight_g * (1 - lot.cut.trim)


def lost_share(pairs: Sequence[tuple[Fraction, Fraction]]) -> tuple[Fraction, int] | None:
    """Share lost in the newest five (weight before, weight after), and how many; None without any."""
    last = [pair for pair in pairs if pair[0] > 0][:NEWEST]
    if not last:
        return None
    return 1 - sum((after for _, after in last), ZERO) / sum((before for before, _ in last), ZERO), len(last)


def credit_per_gram(parts: Sequence[tuple[str, Fraction, Fraction | None]]) -> tuple[Fraction, tuple[str, ...]]:
    """Credit for one gram that went in, and the by-products without one: (name, share, money for one gram)."""
    total = sum((share * each for _, share, each in parts if each is not None), ZERO)
    return total, tuple(name for name, _, each in parts if each is None)


def usual_days(newest_first: Sequence[int]) -> int | None:
    """The days that most of the newest ten lots were meant to hang, the longer of two alike; None without any [d]."""
    seen = Counter(newest_first[:USUAL])
    return max(seen, key=lambda days: (seen[days], days), default=None)


@dataclass(frozen=True)
class CutFacts:
    """What is known of a cut beside its lots.

    trim, measured: of its whole piece, written and as the newest breakdowns show it (share, how many). shrink: lost by
    the whole piece while it ages, as the newest lots show it, else as written [0 to 1]. share: this cut's own of what
    is usable, below 1 where others come out of the piece too [0 to 1]. credit: for one gram.
    """

    name: str
    portion_g: Fraction | None
    trim: Fraction
    measured: tuple[Fraction, int] | None
    shrink: Fraction
    share: Fraction
    credit: Fraction
    uncredited: tuple[str, ...]
    parts: tuple[tuple[str, Fraction, Fraction | None], ...]


ask = asker("stillroom.db")


def read_breakdowns(connection: sqlite3.Connection, day: str) -> dict[str, list[Broken]]:
    """Cut -> its breakdowns, newest first, portions of one breakdown together."""
    found: dict[str, dict[str, Broken]] = {}
    for cut, code, on, came, out, pieces in ask(connection, "cut_breakdowns", day=day):
        before = found.setdefault(cut, {}).get(code)
        whole = Fraction(out) + (before[3] if before else 0)
        found[cut][code] = (code, on, Fraction(came), whole, (pieces or 0) + (before[4] if before else 0))
    return {cut: list(rows.values()) for cut, rows in found.items()}


def read_promises(connection: sqlite3.Connection, day: date) -> list[Promise]:
    """Portions promised to services from a day on."""
    return [
        Promise(entry, lot, date.fromisoformat(on), count, Fraction(each), what_for, actor)
        for entry, lot, on, count, each, what_for, actor in ask(connection, "lot_promises", day=day.isoformat())
    ]


def read_cuts(connection: sqlite3.Connection, day: str) -> dict[str, CutFacts]:
    """Every cut by id; cuts that come out of one piece together are judged by the whole piece."""
    rows = ask(connection, "cut_shares")
    broken = read_breakdowns(connection, day)
    shrunk: dict[str, list[tuple[Fraction, Fraction]]] = {}
    for cut, start, end in ask(connection, "lots_aged", day=day):
        shrunk.setdefault(cut, []).append((Fraction(start), Fraction(end)))
    parts: dict[str, list[tuple[str, Fraction, Fraction | None]]] = {}
    for cut, name, share, price, buys in ask(connection, "cut_by_products"):
        each = Fraction(price) / Fraction(buys) if price is not None and buys else None
        parts.setdefault(cut, []).append((name, Fraction(share), each))
    found = {}
    for cut, name, portion, trimmed, shrink, joint in rows:
        mates = [m for m in rows if m[0] == cut or (joint and m[5] == joint)]
        trim = 1 - sum((1 - Fraction(m[3]) for m in mates), ZERO)
        seen = sorted((b for m in mates for b in broken.get(m[0], [])), key=lambda b: b[1], reverse=True)
        own = tuple(p for m in mates for p in parts.get(m[0], []))
        credit, without = credit_per_gram(own)
        measured = lost_share([(came, out) for _, _, came, out, _ in seen])
        aged = lost_share(shrunk.get(cut, ()))
        found[cut] = CutFacts(name, Fraction(portion) if portion else None, trim, measured,
                              aged[0] if aged else Fraction(shrink), _share(Fraction(trimmed), trim),
                              credit, without, own)  # fmt: skip
    return found


def _share(own_trim: Fraction, trim: Fraction) -> Fraction:
    return (1 - own_trim) / (1 - trim) if trim < 1 else ZERO


def read_lots(connection: sqlite3.Connection, day: date, cuts: dict[str, CutFacts] | None = None) -> list[Lot]:
    """Every lot that had begun on a day, with its weighings until then, in order of start.

    Args:
        connection: for reading.
        day: the kitchen's day, or one that is past.
        cuts: where they were read already, of the same day.
    """
    weighings: dict[str, list[Weighing]] = {}
    for code, on, grams, room, humidity in ask(connection, "lot_weigh_ins", day=day.isoformat()):
        weighings.setdefault(code, []).append(Weighing(date.fromisoformat(on), Fraction(grams), room, humidity))
    known = read_cuts(connection, day.isoformat()) if cuts is None else cuts
    return [_lot(row, weighings.get(row[0], []), known) for row in ask(connection, "lots", day=day.isoformat())]


def _lot(row: tuple[Any, ...], weighings: list[Weighing], cuts: dict[str, CutFacts]) -> Lot:
    code, item, cut, started, start, target, place, length, price, paid, buys, over, note = row
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
