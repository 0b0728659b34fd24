"""Which dishes earn: the menu mix of Kasavana and Smith (1982), and food cost as it is against as it should be. Pure.

Popular: a share of plates of at least 70 % of an equal share. Earning: a contribution margin of at least the
sales-weighted mean, sum of margins over plates. The print leaves equality open; here equal counts as high.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from stillroom.plugins.costing.prices import ZERO

POPULAR_SHARE = Fraction(7, 10)
STAR, PLOWHORSE, PUZZLE, DOG = "star", "plowhorse", "puzzle", "dog"
CLASSES = {(True, True): STAR, (True, False): PLOWHORSE, (False, True): PUZZLE, (False, False): DOG}


@dataclass(frozen=True, slots=True)
class Sold:
    """Plates of a dish over a period. unsaid: plates whose money was not written down; sales: money of the others."""

    recipe: str
    plates: int
    unsaid: int = 0
    sales: Fraction = ZERO


@dataclass(frozen=True, slots=True)
class Dish:
    """A dish of one section. sales: taken, without tax; cost: of one plate, None = incomplete [money]."""

    id: str
    name: str
    plates: int
    sales: Fraction
    cost: Fraction | None


@dataclass(frozen=True)
class Placed:
    """A dish in the mix. mix: share of plates; margin: of one plate; food_cost: over sales. klass '' = not placed."""

    dish: Dish
    mix: Fraction
    margin: Fraction | None
    food_cost: Fraction | None
    klass: str
    is_popular: bool
    is_earning: bool


@dataclass(frozen=True)
class Mix:
    """One section over one period. mean_margin: sales-weighted (O); popular_from: share (Q); food_cost: K [share]."""

    placed: tuple[Placed, ...]
    plates: int
    cost: Fraction
    sales: Fraction
    margin: Fraction
    mean_margin: Fraction | None
    popular_from: Fraction
    food_cost: Fraction | None


def menu_mix(dishes: Sequence[Dish]) -> Mix:
    """The mix of like dishes.

    A dish whose cost is incomplete, or that nobody ordered and so has no price of a plate, is listed and not placed;
    its plates count in no figure.
    """
    whole = [d for d in dishes if d.cost is not None and d.plates > 0]
    plates = sum(d.plates for d in whole)
    cost = sum((d.plates * (d.cost or ZERO) for d in whole), ZERO)
    sales = sum((d.sales for d in whole), ZERO)
    mean = (sales - cost) / plates if plates else None
    popular = POPULAR_SHARE / len(whole) if whole else ZERO
    placed = tuple(_placed(d, plates, mean, popular) for d in dishes)
    return Mix(placed, plates, cost, sales, sales - cost, mean, popular, cost / sales if sales else None)


def _placed(d: Dish, plates: int, mean: Fraction | None, popular: Fraction) -> Placed:
    if d.cost is None or d.plates <= 0 or mean is None:
        return Placed(d, ZERO, None, None, "", False, False)
    mix, margin = Fraction(d.plates, plates), d.sales / d.plates - d.cost
    is_popular, is_earning = mix >= popular, margin >= mean
    food = d.plates * d.cost / d.sales if d.sales else None
    return Placed(d, mix, margin, food, CLASSES[is_popular, is_earning], is_popular, is_earning)


@dataclass(frozen=True)
class Use:
    """One item between two counts [unit]: theory: by the recipes of plates sold; waste: written down as thrown away.

    money columns are at one price a base unit; actual: opening + bought - closing.
    """

    item: str
    group: str
    opening: Fraction
    bought: Fraction
    closing: Fraction
    theory: Fraction
    waste: Fraction
    each: Fraction

    @property
    def actual(self) -> Fraction:
        return self.opening + self.bought - self.closing

    @property
    def variance(self) -> Fraction:
        """Used beyond the recipes [unit]; below zero: less was used."""
        return self.actual - self.theory


@dataclass(frozen=True)
class Group:
    """Items of one group in money: used, as it should be, the difference, and how much of it the waste log explains."""

    name: str
    items: int
    actual: Fraction
    theory: Fraction
    waste: Fraction

    @property
    def variance(self) -> Fraction:
        return self.actual - self.theory


def by_group(uses: Sequence[Use]) -> list[Group]:
    """Sums by group, the largest difference first."""
    grouped: dict[str, list[Use]] = {}
    for u in uses:
        grouped.setdefault(u.group, []).append(u)
    found = [_group(name, rows) for name, rows in grouped.items()]
    return sorted(found, key=lambda g: (-abs(g.variance), g.name))


def _group(name: str, rows: Sequence[Use]) -> Group:
    def money(field: str) -> Fraction:
        return sum((getattr(u, field) * u.each for u in rows), ZERO)

    return Group(name, len(rows), money("actual"), money("theory"), money("waste"))
