"""What one feature adds to another's page: a part under its own heading, for those who may see it."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from stillroom.plugins.core.auth import decide

Work = Callable[[sqlite3.Connection, str, str], Any]


@dataclass(frozen=True)
class Offer:
    """A part that a feature offers to a page.

    Attributes:
        page: 'home', 'dish', 'short', 'recipe', ...: the page that shows it.
        name: its key in the page's .json.
        needs: the action that `auth.decide` is asked about.
        template: 'feature/part.html', drawn with the part's own answer as `answer`.
        work: (connection, subject of the page, role) -> the answer, a dataclass; None: nothing to show.
        order: parts of a page stand in this order; on the first page those below 10 stand at its top.
    """

    page: str
    name: str
    needs: str
    template: str
    work: Work
    order: int = 50


@dataclass(frozen=True)
class Part:
    """A part with its answer, ready to be drawn."""

    name: str
    template: str
    answer: Any
    order: int = 50


_OFFERS: dict[tuple[str, str], Offer] = {}


def offer(part: Offer) -> None:
    """Puts a part on a page; said again (a plugin loaded twice) it stays one."""
    _OFFERS[part.page, part.name] = part


def offered(page: str, role: str) -> list[Offer]:
    """The parts of a page that a role may see, in their order."""
    found = [part for part in _OFFERS.values() if part.page == page and decide(role, part.needs)]
    return sorted(found, key=lambda part: (part.order, part.name))


def gather(connection: sqlite3.Connection, page: str, subject: str, role: str) -> list[Part]:
    """The parts of a page about one subject, those with something to show."""
    made = [(part, part.work(connection, subject, role)) for part in offered(page, role)]
    return [Part(part.name, part.template, answer, part.order) for part, answer in made if answer is not None]
