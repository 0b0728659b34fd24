"""Which dishes earn: the menu mix of Kasavana and Smith (1982), and food cost as it is against as it should be. Pure.

Popular: a share of plates of at least 70 % of an equal share. Earning: a contribution margin of at least the
sales-weighted mean, sum of margins over plates. The print leaves equality open; here equal counts as high. The model is
of a menu that stands still. Where dishes come and go, an equal share is that of the dishes on the menu at a time, and a
dish of part of the days is held against that part of it; one of less than a week is not judged (ours, common practice,
no source). Where every dish is there on all days this is the print's rule.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from stillroom.plugins.costing.prices import ZERO

POPULAR_SHARE = Fraction(7, 10)
STAR, PLOWHORSE, PUZZLE, DOG = "star", "plowhorse", "puzzle", "dog"
LEAST_DAYS = 7
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
    """A dish of one section. sales: taken, without tax; cost: of one plate, None = incomplete [money].

    days: of the period's days of service, those on which it was on the menu; None = all of them.
    """

    id: str
    name: str
    plates: int
    sales: Fraction
    cost: Fraction | None
    days: int | None = None


@dataclass(frozen=True)
class Placed:
    """A dish in the mix. mix: share of plates; margin: of one plate; food_cost: over sales.

    popular_from: the share that it is held against; klass: '' = not placed, and why says the reason.
    """

    dish: Dish
    mix: Fraction
    margin: Fraction | None
    food_cost: Fraction | None
    klass: str
    is_popular: bool
    is_earning: bool
    popular_from: Fraction = ZERO
    why: str = ""


@dataclass(frozen=True)
class Mix:
    """One section over one period. mean_margin: sales-weighted (O); popular_from: share (Q); food_cost: K [share].

    popular_from is that of dishes that were on the menu on all days; at_a_time: how many were, as a mean.
    """

    placed: tuple[Placed, ...]
    plates: int
    cost: Fraction
    sales: Fraction
    margin: Fraction
    mean_margin: Fraction | None
    popular_from: Fraction
    food_cost: Fraction | None
    at_a_time: Fraction = ZERO


def menu_mix(dishes: Sequence[Dish], days: int = 0) -> Mix:
    """The mix of like dishes.

    A dish whose cost is incomplete, that nobody ordered and so has no price of a plate, or that was on the menu for
    less than a week of a longer period, is listed and not placed; its plates count in no figure.

    Args:
        days: days of service of the period, needed where a dish says its own.
    """
    whys = [_why(d, days) for d in dishes]
    whole = [d for d, why in zip(dishes, whys, strict=True) if not why]
    plates = sum(d.plates for d in whole)
    cost = sum((d.plates * (d.cost or ZERO) for d in whole), ZERO)
    sales = sum((d.sales for d in whole), ZERO)
    mean = (sales - cost) / plates if plates else None
    at_a_time = sum((_part(d, days) for d in whole), ZERO)
    popular = POPULAR_SHARE / at_a_time if whole else ZERO
    placed = tuple(
        Placed(d, ZERO, None, None, "", False, False, why=why)
        if why or mean is None or d.cost is None
        else _placed(d, d.cost, plates, mean, popular * _part(d, days))
        for d, why in zip(dishes, whys, strict=True)
    )
    return Mix(placed, plates, cost, sales, sales - cost, mean, popular, cost / sales if sales else None, at_a_time)


def _why(d: Dish, days: int) -> str:
    """Why a dish is not placed; '' where it is."""
    if d.cost is None:
        return "cost incomplete"
    if d.plates <= 0:
        return "no plates"
    if d.days is not None and d.days < min(LEAST_DAYS, days):
        return "not judged: " + ("not on the menu" if not d.days else "1 day" if d.days == 1 else f"{d.days} days")
    return ""


def _part(d: Dish, days: int) -> Fraction:
    """The part of the period that a dish was on the menu [0 to 1]."""
    return Fraction(1) if d.days is None or d.days >= days else Fraction(d.days, days)


def _placed(d: Dish, cost: Fraction, plates: int, mean: Fraction, popular: Fraction) -> Placed:
    mix, margin = Fraction(d.plates, plates), d.sales / d.plates - cost
    is_popular, is_earning = mix >= popular, margin >= mean
    food = d.plates * cost / d.sales if d.sales else None
    return Placed(d, mix, margin, food, CLASSES[is_popular, is_earning], is_popular, is_earning, popular)


@dataclass(frozen=True)
class Use:
    """One item between two counts [unit]: theory: by the recipes of plates sold; waste: written down as thrown away.

    each: money for one base unit, unit; actual: opening + bought - closing.
    """

    item: str
    group: str
    opening: Fraction
    bought: Fraction
    closing: Fraction
    theory: Fraction
    waste: Fraction
    each: Fraction
    unit: str = ""

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
