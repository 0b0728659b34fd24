"""What the first page says of menus to come: dishes that change, and what they will declare then."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from datetime import date

from stillroom.db.allergen_judging import cooked_today
from stillroom.db.allergen_kitchen import kitchen
from stillroom.db.kitchen import today
from stillroom.db.promotions import Promotion, ahead, called, overdue, why_not
from stillroom.plugins.core.auth import decide
from stillroom.plugins.core.parts import Offer, offer
from stillroom.plugins.trials.compute import turned
from stillroom.plugins.trials.rows import kinds_in, read_trial, taken_in


@dataclass(frozen=True)
class Coming:
    """One promotion whose day is still to come, and the allergens that it brings and takes.

    name, called: what the dish is called now, and from then on.
    """

    trial: str
    name: str
    called: str
    version: int
    on: str
    gained: list[str]
    lost: list[str]


@dataclass(frozen=True)
class Ahead:
    """All of them, the nearest first; and those whose day has come and that can't be the dish, with the reasons."""

    today: date
    coming: list[Coming]
    stuck: list[tuple[str, str, int, str]]
    may_open: bool


def coming(connection: sqlite3.Connection, _subject: str, role: str) -> Ahead | None:
    """What comes; None where nothing does."""
    day = today(connection)
    found = [_one(connection, p) for p in sorted(ahead(connection, day), key=lambda p: p.from_on)]
    may_cost = decide(role, "cost")
    stuck = [(p.trial_id, p.name or p.trial, p.version, "; ".join(why_not(connection, p, may_cost)))
             for p in overdue(connection, day)]  # fmt: skip
    return Ahead(day, found, stuck, decide(role, "taste")) if found or stuck else None


def _one(connection: sqlite3.Connection, p: Promotion) -> Coming:
    trial = read_trial(connection, p.trial_id, may_cost=False, only=[p.version])
    after = trial.versions[0].presence if trial and trial.versions else {}
    gained, lost = turned(_now(connection, p), after, taken_in(kitchen(connection)))
    dish = connection.execute("select name from recipes where id = ?", (p.dish_id,)).fetchone()
    name = dish[0] if dish else p.trial
    return Coming(p.trial_id, name, called(p, name), p.version, p.from_on, gained, lost)


def _now(connection: sqlite3.Connection, p: Promotion) -> dict[str, str]:
    """What the dish declares as it is served; nothing where it is not served before the promotion."""
    row = connection.execute("select status, coalesce(from_on, '') from recipes where id = ?", (p.dish_id,)).fetchone()
    if row is None or row[0] != "active" or row[1] >= p.from_on:
        return {}
    here = kitchen(connection)
    verdicts = here.declared(p.dish_id)
    dish = here.recipe(p.dish_id)
    kinds = kinds_in(here, dish, here.facts, cooked_today([*here.menu(here.today), dish]))
    named = {name: verdicts[code].reasons[0].presence for code, name in here.groups if verdicts[code].reasons}
    return {**named, **kinds}


offer(Offer("home", "menus_ahead", "home", "trials/home.html", coming, order=10))
