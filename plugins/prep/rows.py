"""From the kitchen's file to what the day's tasks are made of."""

from __future__ import annotations

import json
import sqlite3
from datetime import date
from fractions import Fraction

from stillroom.db.named_sql import asker
from stillroom.plugins.prep.board import Place
from stillroom.plugins.prep.day import Facts, Kit, Person, Take

ask = asker("stillroom.plugins.prep")


def read_facts(connection: sqlite3.Connection, today: date) -> Facts:
    """Equipment, people, shifts, absences."""
    takes: dict[str, list[Take]] = {}
    for recipe, kit, quantity, hold, after in ask(connection, "takes"):
        takes.setdefault(recipe, []).append(Take(kit, Fraction(quantity), hold, after))
    rows = ask(connection, "kits")
    kits = {i: Kit(i, name, station, Fraction(c), unit, lead) for i, name, station, c, unit, lead in rows}
    people = {i: Person(i, name, tuple(filter(None, s.split(";")))) for i, name, s in ask(connection, "people")}
    away = ask(connection, "absences", day=today.isoformat())
    absences = [(person, date.fromisoformat(on), since) for person, on, since, _, _ in away]
    return Facts(kits, takes, people, ask(connection, "shifts"), absences)


def read_plan(connection: sqlite3.Connection, today: date) -> dict[str, Place]:
    """Where each task stood when the day was last laid out; {} before that."""
    rows = ask(connection, "last_plan", day=today.isoformat())
    return {key: Place(start, person) for key, (start, person) in json.loads(rows[0][0]).items()} if rows else {}


def plan_text(places: dict[str, Place]) -> str:
    """The same as the file keeps it."""
    return json.dumps({key: [place.start, place.person] for key, place in sorted(places.items())})
