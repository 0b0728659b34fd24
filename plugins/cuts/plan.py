"""Where to cut a piece: portions of one weight along a length that tapers, ends squared off. Pure.

Weight for one centimetre falls along a straight line from the thick end to the thin one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import sqrt

MOST_PORTIONS = 2000


class NoPlan(ValueError):
    """Figures that give no plan; the words say which."""


@dataclass(frozen=True)
class Piece:
    """A piece ready to be portioned.

    weight_g: trimmed [g]. length_cm. taper: weight of a centimetre at the thin end over one at the thick end, above 0,
    at most 1. ends_cm: squared off at each end [cm].
    """

    weight_g: Fraction
    length_cm: Fraction
    taper: Fraction = Fraction(1)
    ends_cm: Fraction = Fraction(0)

    def until(self, x: Fraction) -> Fraction:
        """Weight from the thick end to x [g]; x in cm, 0 to the length. Exact."""
        share = x / self.length_cm
        return self.weight_g * (share + (self.taper - 1) * share * share / 2) / ((1 + self.taper) / 2)

    def where(self, grams: float) -> float:
        """Place at which a weight from the thick end is reached [cm]; the inverse of `until`."""
        goal = grams / float(self.weight_g) * float(1 + self.taper) / 2
        slope = float(self.taper) - 1
        share = goal if slope == 0 else (-1 + sqrt(max(0.0, 1 + 2 * slope * goal))) / slope
        return share * float(self.length_cm)


@dataclass(frozen=True)
class Plan:
    """Portions of one weight: where each cut falls [cm from the thick end], how thick each is, and what is left over.

    ends_g: both ends. left_g: after the last whole portion.
    """

    portions: int
    cuts_cm: tuple[float, ...]
    thick_cm: tuple[float, ...]
    ends_g: Fraction
    left_g: Fraction


def plan(piece: Piece, portion_g: Fraction) -> Plan:
    """The plan; portions, ends and what is left weigh together what the piece weighs, exactly.

    Raises:
        NoPlan: a figure is not above 0, the taper is beyond 1, or the ends leave nothing.
    """
    if min(piece.weight_g, piece.length_cm, portion_g) <= 0 or piece.ends_cm < 0:
        raise NoPlan("weight, length and portion are above 0")
    if not 0 < piece.taper <= 1:
        raise NoPlan("taper is above 0 % and at most 100 %, where 100 % is the same all along")
    first, last = piece.ends_cm, piece.length_cm - piece.ends_cm
    if first >= last:
        raise NoPlan("the ends take the whole length")
    start = piece.until(first)
    whole = piece.until(last) - start
    count = whole // portion_g
    if count > MOST_PORTIONS:
        raise NoPlan(f"that is more than {MOST_PORTIONS:,} portions")
    places = tuple(piece.where(float(start + n * portion_g)) for n in range(count + 1))
    thick = tuple(b - a for a, b in pairwise(places))
    return Plan(count, places, thick, piece.weight_g - whole, whole - count * portion_g)


@dataclass(frozen=True)
class Left:
    """Where all of a piece goes [g]: sold in portions, ends, by-products (name, weight, money or None), and loss."""

    whole_g: Fraction
    sold_g: Fraction
    ends_g: Fraction
    parts: tuple[tuple[str, Fraction, Fraction | None], ...]
    loss_g: Fraction


def left_of(
    whole_g: Fraction, sold_g: Fraction, ends_g: Fraction, parts: Sequence[tuple[str, Fraction, Fraction | None]]
) -> Left:
    """The balance of a piece; it adds up to the whole exactly.

    Args:
        whole_g: the piece before trimming.
        sold_g: portions together.
        ends_g: end pieces and what is left after the last portion.
        parts: by-products expected: (name, weight [g], money for one gram or None).

    By-products that together are more than what is left are taken in their proportion: no piece leaves more than it is.
    """
    room = whole_g - sold_g - ends_g
    wanted = sum((w for _, w, _ in parts), Fraction(0))
    scale = min(Fraction(1), max(Fraction(0), room) / wanted) if wanted else Fraction(1)
    found = tuple((n, w * scale, None if each is None else w * scale * each) for n, w, each in parts)
    return Left(whole_g, sold_g, ends_g, found, room - wanted * scale)
