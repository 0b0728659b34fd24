"""What trials add to the page of a dish and to a recipe's card: its trial, or a button that begins one."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass

from stillroom.plugins.core.auth import decide
from stillroom.plugins.core.parts import Offer, offer
from stillroom.plugins.trials.rows import ask


@dataclass(frozen=True)
class TrialOf:
    """The trial of a dish or sub-recipe. latest: its newest version, 0 where there is none yet."""

    id: str
    latest: int


def trial_of(connection: sqlite3.Connection, subject: str, role: str) -> TrialOf | None:
    """None for a cut, and for who may not begin one where there is none."""
    versions = ask(connection, "versions", trial=subject)
    if versions:
        return TrialOf(subject, versions[-1][0])
    can_begin = any(row[0] == subject for row in ask(connection, "dishes"))
    return TrialOf(subject, 0) if can_begin and decide(role, "trials") else None


for page in ("dish", "recipe"):
    offer(Offer(page, "trial", "taste", "trials/on_dish.html", trial_of, 60))
