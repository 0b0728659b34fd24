"""Cost of one base unit of every recipe: one sweep in integers over the recipe graph, sub-recipes first. Exact.

The sweep carries one number a recipe where the full explosion carries one a recipe and item; both give the same cost.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from math import gcd, lcm

from stillroom.db.graph import Amounts, Line, by_recipe, explode, order, users

Ratio = tuple[int, int]  # numerator, denominator
Term = tuple[str, int, int]  # what is used, and how much of it for one base unit of yield
CREDITS = "credits of "  # what a recipe lacks whose by-products are worth more than what went in


@dataclass(frozen=True)
class Book:
    """Recipes made ready to be costed: each after its sub-recipes, lines as whole numbers."""

    yields: Mapping[str, Fraction]
    lines: Mapping[str, Sequence[Line]]
    order: tuple[str, ...]
    bought: Mapping[str, Sequence[Term]]
    made: Mapping[str, Sequence[Term]]

    @cached_property
    def used_by(self) -> dict[str, list[Line]]:
        """Lines grouped by what they use: the way up."""
        return users(line for lines in self.lines.values() for line in lines)

    def reach(self, things: Iterable[str]) -> set[str]:
        """Recipes that use any of some items or recipes, at any depth; a recipe named counts itself."""
        todo = list(things)
        found = set(todo) & set(self.yields)
        while todo:
            for line in self.used_by.get(todo.pop(), ()):
                if line.recipe not in found:
                    found.add(line.recipe)
                    todo.append(line.recipe)
        return found

    def with_lines(self, changed: Mapping[str, Sequence[Line]]) -> Book:
        """The same book with other lines in some recipes.

        Raises:
            LoopError: a recipe would reach itself.
        """
        bought = {r: tuple(_term(str(x.item), x) for x in own if x.sub_recipe is None) for r, own in changed.items()}
        made = {r: tuple(_term(x.sub_recipe, x) for x in own if x.sub_recipe is not None) for r, own in changed.items()}
        lines = {**self.lines, **changed}
        ordered = self.order
        if any({u for u, _, _ in terms} - {u for u, _, _ in self.made.get(r, ())} for r, terms in made.items()):
            flat = [line for own in lines.values() for line in own if line.sub_recipe is not None]
            ordered = tuple(order(self.yields, flat))
        return Book(self.yields, lines, ordered, {**self.bought, **bought}, {**self.made, **made})


@dataclass(frozen=True)
class Costs:
    """Cost of one base unit of each recipe [money], of what is priced; and what each lacks, where it does."""

    each: dict[str, Ratio]
    lacks: dict[str, frozenset[str]] = field(default_factory=dict)

    def of(self, recipe: str) -> Fraction | None:
        """The cost of one base unit; None where anything is missing."""
        return None if recipe in self.lacks or recipe not in self.each else Fraction(*self.each[recipe])


def compile_book(yields: Mapping[str, Fraction], lines: Sequence[Line]) -> Book:
    """A book from lines whose quantities are as bought.

    Raises:
        LoopError: a recipe reaches itself.
    """
    grouped = by_recipe(lines)
    bought: dict[str, list[Term]] = {}
    made: dict[str, list[Term]] = {}
    subs: list[Line] = []
    for recipe, own in grouped.items():
        items: list[Term] = []
        parts: list[Term] = []
        for line in own:
            sub = line.sub_recipe
            if sub is None:
                items.append((line.item or "", *line.quantity.as_integer_ratio()))
            else:
                parts.append((sub, *line.quantity.as_integer_ratio()))
                subs.append(line)
        if items:
            bought[recipe] = items
        if parts:
            made[recipe] = parts
    return Book(yields, grouped, tuple(order(yields, subs)), bought, made)


def _term(used: str, line: Line) -> Term:
    return used, line.quantity.numerator, line.quantity.denominator


def ratios(prices: Mapping[str, Fraction]) -> dict[str, Ratio]:
    """Prices as whole numbers."""
    return {item: (p.numerator, p.denominator) for item, p in prices.items()}


def sweep(book: Book, prices: Mapping[str, Fraction]) -> Costs:
    """Cost of one base unit of every recipe.

    Args:
        book: the recipes.
        prices: item -> money for one base unit; an item that is not there is missing, never free.
    """
    costs, known = Costs({}), ratios(prices)
    for recipe in book.order:
        _cost(book, recipe, known, costs)
    return costs


def _cost(book: Book, recipe: str, known: Mapping[str, Ratio], costs: Costs) -> None:
    """Puts one recipe's cost, and what it lacks, into `costs`; those of its sub-recipes are there."""
    sums: dict[int, int] = {}
    lacking: set[str] = set()
    get = sums.get
    for terms, worth in ((book.bought.get(recipe, ()), known), (book.made.get(recipe, ()), costs.each)):
        for used, number, below in terms:
            found = worth.get(used)
            if found is None:
                lacking.add(used)
                continue
            below *= found[1]
            sums[below] = get(below, 0) + number * found[0]
    costs.each[recipe] = each = _summed(sums, book.yields[recipe])
    for used, _, _ in book.made.get(recipe, ()) if costs.lacks else ():
        lacking |= costs.lacks.get(used, frozenset())
    if each[0] < 0 and not lacking:
        lacking.add(CREDITS + recipe)
    if lacking:
        costs.lacks[recipe] = frozenset(lacking)


def _summed(sums: Mapping[int, int], made: Fraction) -> Ratio:
    """The sum of some fractions, divided by the yield, in lowest terms."""
    common = lcm(*sums)
    total = sum([number * (common // below) for below, number in sums.items()]) * made.denominator
    common *= made.numerator
    divisor = gcd(total, common)
    return total // divisor, common // divisor


def again(book: Book, costs: Costs, prices: Mapping[str, Fraction], changed: set[str]) -> Costs:
    """The costs with only some recipes reckoned again: those that a change reaches (`Book.reach`)."""
    fresh = Costs(dict(costs.each), {r: x for r, x in costs.lacks.items() if r not in changed})
    known = ratios(prices)
    for recipe in book.order:
        if recipe in changed:
            _cost(book, recipe, known, fresh)
    return fresh


def below(book: Book, recipe: str) -> list[str]:
    """A recipe and all that it is made of, each once."""
    found, todo = {recipe}, [recipe]
    while todo:
        for used, _, _ in book.made.get(todo.pop(), ()):
            if used not in found:
                found.add(used)
                todo.append(used)
    return sorted(found)


def amounts(book: Book, recipe: str) -> dict[str, Fraction]:
    """Quantity as bought of each item in one base unit of a recipe's yield; credits below zero."""
    parts = below(book, recipe)
    found: Amounts = explode({r: book.yields[r] for r in parts}, [x for r in parts for x in book.lines.get(r, ())])
    return found[recipe]
