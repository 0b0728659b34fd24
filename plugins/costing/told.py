"""For how much a cost is told: a plate, a portion or a piece; of what is weighed or poured a kg or l, a lb or qt."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from stillroom.plugins.core.format import large
from stillroom.plugins.costing.compute import Part, Plate, Range, Step
from stillroom.plugins.costing.house import Recipe

PIECES = {"dish": "plate", "cut": "portion"}


def told_for(recipe: Recipe) -> tuple[Fraction, str]:
    """How much of a recipe's yield [its unit], and the word for it."""
    if recipe.unit == "each":
        return Fraction(1), PIECES.get(recipe.kind, "piece")
    word, size = large(recipe.unit)
    return size, word


def plate_of(found: Plate, size: Fraction) -> Plate:
    """The same cost for `size` times as much; a menu price is for one as before."""
    ends = found.range
    if ends is not None:
        ends = Range(ends.low * size, None if ends.high is None else ends.high * size)
    return replace(found, each=None if found.each is None else found.each * size, range=ends)


def parts_of(found: list[Part], size: Fraction) -> list[Part]:
    """Items for `size` times as much."""
    return [
        replace(p, quantity=p.quantity * size, cost=None if p.cost is None else p.cost * size) for p in found
    ]  # fmt: skip


def steps_of(found: list[Step] | None, size: Fraction) -> list[Step] | None:
    """A bridge for `size` times as much; None stays None."""
    return None if found is None else [replace(s, money=s.money * size) for s in found]
