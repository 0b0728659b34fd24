"""The recipe graph: what a recipe is made of, down to what is bought. Exact, pure, rows in and rows out.

Two answers to one question. `explode` sums each bought item over all ways it gets into a recipe; it is one sweep in
integer arithmetic, sub-recipes first, and costs milliseconds for a whole kitchen. `paths` keeps every way apart, for
"why is there milk in this?". A cut is a recipe like any other; its by-products are lines with a negative quantity.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from graphlib import CycleError, TopologicalSorter
from itertools import repeat
from math import gcd, lcm
from operator import floordiv, mul

BY_PRODUCT = -1
LONG_BITS = 512


@dataclass(frozen=True, slots=True)
class Line:
    """One component of a recipe, or one by-product (component_id BY_PRODUCT, quantity below zero).

    quantity is for one batch, in the base unit of the item or the yield unit of the sub-recipe. edible_yield is EP/AP
    of this line, 0 to 1, None where the line says nothing.
    """

    recipe: str
    component_id: int
    item: str | None
    sub_recipe: str | None
    quantity: Fraction
    edible_yield: Fraction | None = None
    is_removable: bool = False


@dataclass(frozen=True, slots=True)
class Path:
    """One way from a recipe to a bought item.

    quantity is in the item's base unit for one base unit of the recipe's yield. steps are the ids on the way, the item
    last. component_ids are the lines taken. removable is the first line on the way that a plate can go out without.
    """

    recipe: str
    item: str
    quantity: Fraction
    steps: tuple[str, ...]
    component_ids: tuple[int, ...]
    removable: int | None
    edible_yield: Fraction | None


class LoopError(ValueError):
    """A recipe uses itself. `loop` names the recipes in order, the first again at the end."""

    def __init__(self, loop: Sequence[str]) -> None:
        super().__init__(" > ".join(loop))
        self.loop = tuple(loop)


class Amounts(Mapping[str, dict[str, Fraction]]):
    """Quantity of each bought item for one base unit of each recipe's yield.

    Numbers of a recipe are kept as integers over one denominator and become Fractions when asked for.
    """

    def __init__(self, vectors: dict[str, tuple[dict[str, int], int]]) -> None:
        self._vectors = vectors

    def __getitem__(self, recipe: str) -> dict[str, Fraction]:
        numbers, denominator = self._vectors[recipe]
        return {item: Fraction(number, denominator) for item, number in numbers.items()}

    def __iter__(self) -> Iterable[str]:  # type: ignore[override]
        return iter(self._vectors)

    def __len__(self) -> int:
        return len(self._vectors)

    def items_of(self, recipe: str) -> Iterable[str]:
        """Ids of the items in a recipe, without their quantities."""
        return self._vectors[recipe][0].keys()

    def value(self, recipe: str, worth: Mapping[str, Fraction]) -> Fraction:
        """Sum of quantity times `worth` per base unit over the recipe's items [unit of worth].

        Raises:
            KeyError: an item has no worth; missing is never zero.
        """
        numbers, denominator = self._vectors[recipe]
        return sum((number * worth[item] for item, number in numbers.items()), Fraction(0)) / denominator


def by_recipe(lines: Iterable[Line]) -> dict[str, list[Line]]:
    """Lines grouped by recipe, in the order given."""
    grouped: dict[str, list[Line]] = {}
    for line in lines:
        grouped.setdefault(line.recipe, []).append(line)
    return grouped


def order(recipes: Iterable[str], lines: Iterable[Line]) -> list[str]:
    """Recipes with every sub-recipe before whatever uses it.

    Raises:
        LoopError: a recipe reaches itself.
    """
    needs: dict[str, set[str]] = {recipe: set() for recipe in recipes}
    for line in lines:
        if line.sub_recipe is not None:
            needs[line.recipe].add(line.sub_recipe)
    try:
        return list(TopologicalSorter(needs).static_order())
    except CycleError as error:
        raise LoopError(list(reversed(error.args[1]))) from error


def explode(yields: Mapping[str, Fraction], lines: Sequence[Line]) -> Amounts:
    """Quantity of every bought item for one base unit of every recipe's yield, exactly.

    Args:
        yields: recipe -> yield of one batch [its yield unit], above 0.
        lines: components and by-products of all recipes.

    Raises:
        LoopError: a recipe reaches itself.
        KeyError: a line names a recipe that has no yield.
    """
    grouped = by_recipe(lines)
    vectors: dict[str, tuple[dict[str, int], int]] = {}
    for recipe in order(yields, lines):
        vectors[recipe] = _vector(grouped.get(recipe, ()), yields[recipe], vectors)
    return Amounts(vectors)


def _vector(
    lines: Sequence[Line], made: Fraction, vectors: Mapping[str, tuple[dict[str, int], int]]
) -> tuple[dict[str, int], int]:
    """One recipe's integers and their denominator, from those of its sub-recipes."""
    factors, denominator = _factors(lines, made, vectors)
    total: dict[str, int] = {}
    for line, factor in zip(lines, factors, strict=True):
        if line.sub_recipe is None:
            item = str(line.item)
            total[item] = total.get(item, 0) + factor
        else:
            _add(total, vectors[line.sub_recipe][0], factor)
    return _reduced(total, denominator)


def _factors(
    lines: Sequence[Line], made: Fraction, vectors: Mapping[str, tuple[dict[str, int], int]]
) -> tuple[list[int], int]:
    """What each line is multiplied by, and the denominator under all of them, in lowest terms."""
    tops, belows = [], []
    for line in lines:
        top, below = line.quantity.as_integer_ratio()
        tops.append(top)
        belows.append(below if line.sub_recipe is None else below * vectors[line.sub_recipe][1])
    common = lcm(*belows)
    up, denominator = common * made.denominator, common * made.numerator
    factors = list(map(mul, tops, map(floordiv, repeat(up), belows)))
    divisor = gcd(denominator, *factors)
    return list(map(floordiv, factors, repeat(divisor))), denominator // divisor


def _add(total: dict[str, int], numbers: Mapping[str, int], factor: int) -> None:
    """Adds numbers times factor to total; the few items in both are added, all others set at once."""
    both = [(item, total[item]) for item in total.keys() & numbers.keys()]
    total.update(zip(numbers, map(mul, numbers.values(), repeat(factor)), strict=False))
    for item, before in both:
        total[item] += before


def _reduced(numbers: dict[str, int], denominator: int) -> tuple[dict[str, int], int]:
    """The same numbers, their common divisor taken out once they are long: integers of kilobits would be slow."""
    if denominator.bit_length() <= LONG_BITS:
        return numbers, denominator
    divisor = gcd(denominator, *numbers.values())
    return {item: number // divisor for item, number in numbers.items()}, denominator // divisor


def paths(yields: Mapping[str, Fraction], lines: Sequence[Line]) -> dict[str, list[Path]]:
    """Every path from every recipe to a bought item, in the order of the recipe's lines.

    Raises:
        LoopError: a recipe reaches itself.
    """
    grouped = by_recipe(lines)
    found: dict[str, list[Path]] = {}
    for recipe in order(yields, lines):
        made = yields[recipe]
        found[recipe] = [path for line in grouped.get(recipe, ()) for path in _along(line, made, found)]
    return found


def _along(line: Line, made: Fraction, found: Mapping[str, list[Path]]) -> Iterable[Path]:
    """The paths that begin with one line."""
    each = line.quantity / made
    own = line.component_id if line.is_removable else None
    if line.sub_recipe is None:
        item = str(line.item)
        yield Path(line.recipe, item, each, (item,), (line.component_id,), own, line.edible_yield)
        return
    for below in found[line.sub_recipe]:
        yield Path(
            line.recipe,
            below.item,
            each * below.quantity,
            (line.sub_recipe, *below.steps),
            (line.component_id, *below.component_ids),
            own if own is not None else below.removable,
            below.edible_yield,
        )


def low_levels(recipes: Iterable[str], lines: Sequence[Line]) -> dict[str, int]:
    """Deepest level at which each recipe and item is used; what nothing uses is at 0.

    Netting goes level by level in this order: by the time a thing is netted, all that need it have been.
    """
    grouped = by_recipe(lines)
    levels: dict[str, int] = dict.fromkeys(recipes, 0)
    for recipe in reversed(order(list(levels), lines)):
        for line in grouped.get(recipe, ()):
            used = str(line.sub_recipe or line.item)
            levels[used] = max(levels.get(used, 0), levels[recipe] + 1)
    return levels


def users(lines: Iterable[Line]) -> dict[str, list[Line]]:
    """Lines grouped by what they use: the way up from an item or a sub-recipe."""
    grouped: dict[str, list[Line]] = {}
    for line in lines:
        grouped.setdefault(str(line.sub_recipe or line.item), []).append(line)
    return grouped
