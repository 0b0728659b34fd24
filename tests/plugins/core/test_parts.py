"""Parts that features add to each other's pages."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass

import pytest
from stillroom.plugins.core import parts
from stillroom.plugins.core.parts import Offer, gather, offer


@dataclass(frozen=True)
class Said:
    words: str


@pytest.fixture(autouse=True)
def kept() -> Iterator[None]:
    before = dict(parts._OFFERS)
    yield
    parts._OFFERS.clear()
    parts._OFFERS.update(before)


def test_parts_stand_in_order_for_those_who_may() -> None:
    """Ordered, once each, without those that have nothing to show or that the role may not see."""
    for order, name, needs in ((2, "b", "dish"), (1, "a", "dish"), (0, "money", "cost"), (2, "b", "dish")):
        offer(Offer("here", name, needs, "x.html", lambda c, subject, role: Said(subject), order))
    offer(Offer("here", "nothing", "dish", "x.html", lambda c, subject, role: None))
    made = gather(sqlite3.connect(":memory:"), "here", "brill", "server")
    assert [(part.name, part.answer.words) for part in made] == [("a", "brill"), ("b", "brill")]
    assert [part.name for part in gather(sqlite3.connect(":memory:"), "here", "x", "chef")] == ["money", "a", "b"]
