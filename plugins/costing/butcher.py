"""One whole piece into several things: the butcher test, and how the cost of the whole is shared. Pure and exact.

Formulas: yield test and butcher test of culinary schools (weights, part prices, cost factor).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

ZERO = Fraction(0)
BY_WEIGHT, BY_VALUE = "weight", "market value"


class Refused(ValueError):
    """Figures that cannot be right; the words say which, with the sums."""


@dataclass(frozen=True)
class Part:
    """A by-product: its weight, and money for one unit of weight (0 = loss)."""

    name: str
    weight: Fraction
    price: Fraction

    @property
    def worth(self) -> Fraction:
        """Its market value [money]."""
        return self.weight * self.price


@dataclass(frozen=True)
class ButcherTest:
    """What a broken-down piece says.

    paid: cost of the whole. credits: by-products at their market price. cost: paid less credits. usable: what is left
    to sell [unit of weight]. each: cost of one unit of usable weight. factor: each over the price paid for one unit of
    the whole [-]. share: usable over whole [-].
    """

    paid: Fraction
    credits: Fraction
    cost: Fraction
    usable: Fraction
    each: Fraction
    factor: Fraction
    share: Fraction


def butcher_test(weight: Fraction, price: Fraction, parts: Sequence[Part]) -> ButcherTest:
    """Cost of the usable weight of a piece.

    Args:
        weight: of the whole piece as bought, above 0.
        price: money for one unit of its weight, above 0.
        parts: by-products and losses; what they leave is usable.

    Raises:
        Refused: nothing is usable, or the credits are above what the whole cost.
    """
    paid = weight * price
    gone = sum((p.weight for p in parts), ZERO)
    credits = sum((p.worth for p in parts), ZERO)
    if paid <= 0:
        raise Refused("the whole piece has no weight or no price")
    if gone >= weight:
        raise Refused(f"the parts weigh {float(gone):g} of {float(weight):g}: nothing is left to sell")
    if credits > paid:
        raise Refused(f"credits of {float(credits):.2f} are above the {float(paid):.2f} that the whole cost")
    usable, cost = weight - gone, paid - credits
    return ButcherTest(paid, credits, cost, usable, cost / usable, cost / usable / price, usable / weight)


def needed(edible: Fraction, edible_yield: Fraction) -> Fraction:
    """Weight to buy for an edible weight [same unit]; edible_yield 0 to 1, above 0."""
    return edible / edible_yield


def stages(*shares: Fraction) -> Fraction:
    """What is left after several stages, each a share of what came to it [-]: trim, cook, carve; ageing is one more."""
    left = Fraction(1)
    for share in shares:
        left *= share
    return left


def split(total: int, weights: Sequence[Fraction]) -> list[int]:
    """Whole units of `total` shared out in proportion, adding up to it: largest remainder, the first wins a tie.

    Args:
        total: smallest units of money, any sign.
        weights: none below 0, at least one above.

    Raises:
        Refused: no weight is above 0, or one is below.
    """
    whole = sum(weights, ZERO)
    if whole <= 0 or min(weights) < 0:
        raise Refused("there is nothing to share the cost by")
    exact = [total * w / whole for w in weights]
    shares = [x.numerator // x.denominator for x in exact]
    by_rest = sorted(range(len(exact)), key=lambda n: shares[n] - exact[n])
    for n in by_rest[: total - sum(shares)]:
        shares[n] += 1
    return shares


def in_units(parts: Sequence[Fraction], places: int = 2) -> list[int]:
    """Amounts of money as whole smallest units that add up to their sum, rounded once (half to even).

    Each is its own amount rounded down or up: those with the largest remainder go up.
    """
    exact = [p * 10**places for p in parts]
    shares = [x.numerator // x.denominator for x in exact]
    rest = round(sum(exact, ZERO)) - sum(shares)
    for n in sorted(range(len(exact)), key=lambda n: shares[n] - exact[n])[:rest]:
        shares[n] += 1
    return shares


@dataclass(frozen=True)
class Product:
    """One of several products of one piece: weight, and its market price for one unit of weight (None = not known)."""

    name: str
    weight: Fraction
    price: Fraction | None = None


def cost_shares(products: Sequence[tuple[str, Fraction, Fraction | None]], method: str) -> list[Fraction]:
    """Share of a joint cost that each product carries [0 to 1]: (name, weight, market price of one unit or None).

    Raises:
        Refused: a market price is missing, or there is nothing to share by.
    """
    if len(products) == 1:
        return [Fraction(1)]
    missing = [name for name, _, price in products if price is None]
    if method == BY_VALUE and missing:
        raise Refused(f"no market price for {', '.join(missing)}")
    weights = [w * (price or ZERO) if method == BY_VALUE else w for _, w, price in products]
    whole = sum(weights, ZERO)
    if whole <= 0 or min(weights) < 0:
        raise Refused("there is nothing to share the cost by")
    return [w / whole for w in weights]


def share_cost(total: int, products: Sequence[Product], method: str) -> list[int]:
    """Smallest units of money that each product carries of a joint cost; they add up to `total`.

    Args:
        total: cost of the whole less credits [smallest unit].
        products: at least one.
        method: BY_WEIGHT, or BY_VALUE (weight times market price).

    Raises:
        Refused: a market price is missing, or there is nothing to share by.
    """
    if len(products) == 1:
        return [total]
    if method == BY_WEIGHT:
        return split(total, [p.weight for p in products])
    missing = [p.name for p in products if p.price is None]
    if missing:
        raise Refused(f"no market price for {', '.join(missing)}")
    return split(total, [p.weight * (p.price or ZERO) for p in products])
