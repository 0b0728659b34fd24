"""What breakdowns put into the stock, each portion once, and what they took. Pure, reading at the end.

A piece broken down is often written down twice: ticked on the prep list, or logged as a batch, and then weighed out as
a breakdown. The batch stays the record of what it says, for it carries label, date and freezer; the breakdown adds what
no batch says. The same work are a batch that names the lot or the breakdown, and one of the same day where one of the
two names no lot; lots are pieces that aged, for a box of goods is broken down on many days. A lot that aged is broken
down whole, so where the batch named it, the breakdown's number stands. A tick after a breakdown is of what the list
still asked for, and comes on top: it keeps what breakdowns had given before it.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from stillroom.db.named_sql import asker

ZERO = Fraction(0)

ask = asker("stillroom.db")


@dataclass(frozen=True)
class Part:
    """What one breakdown gave of a thing [base unit of the thing].

    names: the ageing lot and the breakdown's own code, in lower case; lot: the first of them, '' where it aged in none.
    at: when it was first written down here [UTC], None: it came in a file.
    """

    id: int
    thing: str
    day: str
    quantity: Fraction
    last_on: str | None = None
    lot: str = ""
    code: str = ""
    is_item: bool = False
    is_bought: bool = False
    at: str | None = None

    @property
    def names(self) -> frozenset[str]:
        return frozenset(filter(None, (self.lot, self.code.casefold())))


@dataclass(frozen=True)
class Made:
    """A batch of a cut. lots: ageing lots and breakdowns it names; before: what breakdowns gave before its tick."""

    id: int
    thing: str
    day: str
    quantity: Fraction
    lots: frozenset[str] = frozenset()
    before: Fraction = ZERO


@dataclass
class Once:
    """The same work counted once [base unit of the thing].

    more: part -> what it adds to what batches say; made: batch -> what it stands for; own: batch -> how much of that no
    breakdown accounts for, so that what it took is reckoned from its recipe.
    """

    more: dict[int, Fraction] = field(default_factory=dict)
    made: dict[int, Fraction] = field(default_factory=dict)
    own: dict[int, Fraction] = field(default_factory=dict)


def portions(
    unit: str, weight_g: Fraction, pieces: int | None, portion_g: Fraction | None, per_gram: Fraction | None
) -> Fraction:
    """What came out in its unit; whole pieces by weight where nobody counted them; 0 where none can be told.

    Args:
        unit: 'g', 'ml' or 'each'.
        weight_g: what it weighs [g].
        pieces: how many, None = not counted [-].
        portion_g: one portion of it [g].
        per_gram: its unit for one gram, where a measure says so.
    """
    if unit == "g":
        return weight_g
    if unit == "ml":
        return weight_g * per_gram if per_gram else ZERO
    if pieces is not None:
        return Fraction(pieces)
    if portion_g:
        return Fraction(weight_g // portion_g)
    return Fraction(weight_g * per_gram // 1) if per_gram else ZERO


def once(parts: Sequence[Part], made: Sequence[Made]) -> Once:
    """Parts and batches of one thing, each portion once."""
    found = Once({p.id: p.quantity for p in parts}, {b.id: b.quantity for b in made}, {b.id: b.quantity for b in made})
    rest, others = set(parts), set(made)
    for group, batches in _linked(parts, made):
        rest -= set(group)
        others -= set(batches)
        _by_name(found, group, batches)
    for day in {p.day for p in rest}:
        _by_day(found, [p for p in parts if p in rest and p.day == day],
                [b for b in made if b in others and b.day == day])  # fmt: skip
    return found


def _linked(parts: Sequence[Part], made: Sequence[Made]) -> list[tuple[list[Part], list[Made]]]:
    """Batches and the parts that they name, those that share one together."""
    groups: list[tuple[list[Part], list[Made]]] = []
    for batch in sorted(made, key=lambda b: b.id):
        mine, batches = [p for p in parts if p.names & batch.lots], [batch]
        if not mine:
            continue
        for group in [g for g in groups if any(p in mine for p in g[0])]:
            groups.remove(group)
            mine = list(dict.fromkeys([*group[0], *mine]))
            batches = [*group[1], *batches]
        groups.append((mine, batches))
    return groups


def _by_name(found: Once, parts: Sequence[Part], batches: Sequence[Made]) -> None:
    """Where every lot named is broken down, the breakdowns' number stands; else the larger."""
    given, said = sum((p.quantity for p in parts), ZERO), sum((b.quantity for b in batches), ZERO)
    answered = frozenset().union(*(p.names for p in parts))
    is_whole = all(b.lots <= answered for b in batches)
    left = given if is_whole else max(given, said)
    own = left - given
    for batch in batches:
        found.made[batch.id] = min(left, batch.quantity)
        left -= found.made[batch.id]
    for batch in reversed(batches):
        found.own[batch.id] = min(own, found.made[batch.id])
        own -= found.own[batch.id]
    _add(found, parts, left)


def _add(found: Once, parts: Sequence[Part], more: Fraction) -> None:
    """What parts add to what batches say, the first of them first."""
    for part in parts:
        found.more[part.id] = min(part.quantity, more)
        more -= found.more[part.id]


def _by_day(found: Once, parts: Sequence[Part], batches: Sequence[Made]) -> None:
    """Of one day: batches of lots are those of breakdowns without one, batches without a lot those of any."""
    loose = sum((p.quantity for p in parts if not p.lot), ZERO)
    hung = sum((p.quantity for p in parts if p.lot), ZERO)
    more = beyond(loose, [b for b in batches if b.lots])
    more = beyond(more + hung, [b for b in batches if not b.lots])
    answered = loose + hung - more
    for batch in batches:
        taken = min(answered, batch.quantity)
        found.own[batch.id] = batch.quantity - taken
        answered -= taken
    _add(found, parts, more)


def beyond(given: Fraction, batches: Iterable[Made]) -> Fraction:
    """What breakdowns gave beyond what batches of the same work say [base unit of the thing], never below nothing.

    Args:
        given: by breakdowns in all [base unit of the thing].
        batches: what was ticked or logged of it.
    """
    level, said = ZERO, ZERO
    for batch in sorted(batches, key=lambda b: b.id):
        level = max(level, min(batch.before, given)) + batch.quantity
        said += batch.quantity
    return max(level, given) - said


@dataclass(frozen=True)
class CutUp:
    """Everything that breakdowns of a time gave, and the batches of the same cuts, each portion once."""

    parts: tuple[Part, ...] = ()
    same: Once = field(default_factory=Once)


def read_cut_up(connection: sqlite3.Connection, since: str, day: str) -> CutUp:
    """What breakdowns gave up to a day: all since a day, and what is still in date."""
    parts = [_part(row) for row in ask(connection, "cut_parts", since=since, day=day)]
    if not parts:
        return CutUp()
    first = min(p.day for p in parts)
    known = {code.casefold() for (code,) in ask(connection, "cut_lots")}
    made: dict[str, list[Made]] = {}
    for ident, thing, on, quantity, lots, before in ask(connection, "cut_batches", since=first, day=day):
        named = frozenset(code.strip().casefold() for code in lots.split(";")) & known
        one = Made(ident, thing, on, Fraction(quantity), named, Fraction(before or 0))
        made.setdefault(thing, []).append(one)
    found = Once()
    for thing in dict.fromkeys(p.thing for p in parts):
        same = once([p for p in parts if p.thing == thing], made.get(thing, []))
        found.more |= same.more
        found.made |= same.made
        found.own |= same.own
    return CutUp(tuple(parts), found)


def _part(row: tuple[object, ...]) -> Part:
    ident, thing, on, last_on, lot, code, is_item, is_bought, unit, weight, pieces, portion, per_gram, at = row
    quantity = portions(
        str(unit), Fraction(str(weight)), None if pieces is None else int(str(pieces)),
        Fraction(str(portion)) if portion else None, Fraction(str(per_gram)) if per_gram else None,
    )  # fmt: skip
    return Part(int(str(ident)), str(thing), str(on), quantity, str(last_on), str(lot).casefold(), str(code),
                bool(is_item), bool(is_bought), None if at is None else str(at))  # fmt: skip


def given(connection: sqlite3.Connection, thing: str, since: str, day: str) -> Fraction:
    """What breakdowns of some days gave of a thing, whatever else was written of it [base unit of the thing]."""
    rows = [_part(row) for row in ask(connection, "cut_parts", since=since, day=day)]
    return sum((p.quantity for p in rows if p.thing == thing and p.day >= since), ZERO)


def read_taken(
    connection: sqlite3.Connection, since: str, cut_up: CutUp, day: str
) -> list[tuple[str, str, Fraction, str | None]]:
    """What breakdowns took of their pieces, each since the item's own day: item, day, quantity in its unit, `Part.at`.

    A lot hung since then took its weight of that day along; one that hung already stood in the count as it was.

    Args:
        connection: for reading.
        since: JSON, item -> day.
        cut_up: what the same breakdowns gave.
        day: the last one.
    """
    rows = ask(connection, "cut_taken", since=since, day=day)
    gave = {str(p.id): p.quantity for p in cut_up.parts}
    boards: dict[tuple[str, str], Fraction] = {}  # (item, lot) -> all that was put on the board of it [g]
    for thing, _, put_in, lot, *_ in rows:
        boards[thing, lot] = boards.get((thing, lot), ZERO) + Fraction(put_in)
    found = []
    for thing, on, put_in, lot, start, per_gram, parts, takes, batch, at in rows:
        grams = Fraction(put_in)
        if start and boards[thing, lot]:
            grams *= Fraction(start) / boards[thing, lot]
        portions_cut = sum((gave.get(ident, ZERO) for ident in (parts or "").split(",")), ZERO)
        by_recipe = portions_cut * Fraction(takes) / Fraction(batch)
        found.append((thing, on, grams * Fraction(per_gram) if per_gram else by_recipe, at))
    return found
