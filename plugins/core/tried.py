"""What a recipe that is not in the book would cost: one feature tries recipes out, another knows prices."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True)
class TriedLine:
    """One component: an item or a recipe, and its quantity for one batch [base unit]; edible: EP / AP, 0 to 1."""

    item: str | None
    sub_recipe: str | None
    quantity: Fraction
    edible: Fraction | None = None


@dataclass(frozen=True)
class Tried:
    """A recipe tried out. made: what one batch yields [unit], above 0."""

    key: str
    made: Fraction
    unit: str
    lines: tuple[TriedLine, ...]


@dataclass(frozen=True)
class Worth:
    """Cost of one base unit of yield [money]; each None = incomplete, and `lacks` says what is missing, in words."""

    each: Fraction | None
    lacks: tuple[str, ...] = ()


Work = Callable[[sqlite3.Connection, Sequence[Tried]], dict[str, Worth]]
_work: list[Work] = []


def answer_with(work: Work) -> None:
    """Makes a feature the one that knows what things cost; said again, the last counts."""
    _work[:] = [work]


def worth_of(connection: sqlite3.Connection, tried: Sequence[Tried]) -> dict[str, Worth]:
    """Key -> cost of each recipe tried out, at today's prices on the kitchen's own basis; {} where nobody knows."""
    return _work[0](connection, tried) if _work and tried else {}
