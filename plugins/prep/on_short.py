"""What an item that runs short does to the day's prep: what to stop, and what a substitute asks of hands."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from fractions import Fraction

from stillroom.db.cook_units import say
from stillroom.plugins.prep.answer import row_of
from stillroom.plugins.prep.rows import ask
from stillroom.plugins.prep.state import read_state
from stillroom.plugins.prep.words import Words


@dataclass(frozen=True)
class Touched:
    """A task of today that wants the item. is_stopped: there is none of it, so it can't be made as planned."""

    key: str
    name: str
    quantity: str
    start: str
    person: str
    is_stopped: bool
    lacking: tuple[str, ...]


@dataclass(frozen=True)
class Instead:
    """A substitute: what is there of it, and what making a batch asks."""

    instead_of: str
    name: str
    on_hand: str
    asks: str


@dataclass(frozen=True)
class OnShort:
    """The part of /short/ITEM about prep."""

    tasks: list[Touched]
    instead: list[Instead]


def on_short(connection: sqlite3.Connection, item: str, _role: str) -> OnShort | None:
    """Today's tasks that want an item, and what its substitutes ask; None where there is neither."""
    day = read_state(connection)
    words = Words(day)
    reached = {recipe for (recipe,) in ask(connection, "reached", item=item)}
    is_out = any(state == "out" for (state,) in ask(connection, "last_word", item=item))
    of = day.coming.stocks.get(item)
    is_none = is_out or (of is not None and of.on_hand == 0)
    tasks = []
    for work in day.day.works.values():
        if work.kind != "make" or work.thing not in reached:
            continue
        row = row_of(words, work, None)
        needs = [] if work.thing in day.aged else day.coming.plan.needs.get(item, ())  # what is cut hung long ago
        direct = any(n.by == work.thing and n.on == day.coming.today for n in needs)
        lacking = tuple(note for note in row.notes if note.startswith("not enough"))
        tasks.append(Touched(work.key, row.name, row.quantity, row.start, row.person, is_none and direct, lacking))
    instead = [_instead(words, *found) for found in ask(connection, "stands_in", item=item)]
    tasks.sort(key=lambda t: (not t.is_stopped, t.start, t.name))
    return OnShort(tasks, instead) if tasks or instead else None


def _instead(
    words: Words, instead_of: str, recipe: str | None, item: str | None, name: str, unit: str | None
) -> Instead:
    state = words.state
    of = state.coming.stocks.get(recipe or item or "")
    made = state.coming.recipes.get(recipe or "")
    unit = made.unit if made else unit or "g"
    there = "not counted" if of is None or of.on_hand is None else say(of.on_hand, unit, words.style).text
    there = "none" if of is not None and of.on_hand == 0 else there
    if made is None:
        return Instead(instead_of, name, there, "")
    planned = sum((w.quantity for w in state.day.works.values() if w.thing == made.id and w.run), Fraction(0))
    batch = words.quantity(made.id, made.batch)
    alone = f", {made.passive_s // 60} min alone" if made.passive_s else ""
    more = f"; {words.quantity(made.id, planned)} of it is on today's list already" if planned else ""
    return Instead(instead_of, name, there, f"a batch of {batch}: {made.active_s // 60} min of hands{alone}{more}")
