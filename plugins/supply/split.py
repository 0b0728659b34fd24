"""What is left of a short item, shared among the dishes that want it: most plates, or most margin. Pure and exact.

A small integer programme: plates of each dish are whole, at most what is expected; all together may take no more of the
item than is loose, after the batches on hand have been used by the dishes they belong to. It is solved by branch and
bound: dishes in the order of what they are worth for each bit of the item, each from the most plates downward; a branch
is left where even sharing the item in fractions, batches and all, could not beat the best found.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from stillroom.plugins.supply.compute import Supply, held, needed

ZERO = Fraction(0)
MOST_STEPS = 20_000  # branches looked at; beyond, the best found stands and says that it is not proven


@dataclass(frozen=True)
class Claim:
    """A dish that wants the item: plates still expected, and what one plate is worth (1, or its margin)."""

    dish: str
    wanted: int
    worth: Fraction


@dataclass(frozen=True)
class Split:
    """Plates of each dish, what they are worth in all, and whether nothing can be better."""

    plates: Mapping[str, int]
    worth: Fraction
    is_proven: bool = True


def needed_together(plates: Mapping[str, int], of: Supply) -> Fraction:
    """Quantity of the item that must be taken loose for plates of several dishes; each batch is used once."""
    need: dict[str, Fraction] = {dish: Fraction(number) for dish, number in plates.items()}
    for recipe in of.levels:
        ready = ZERO if recipe in plates else (of.batches.get(recipe) or ZERO)
        missing = need.get(recipe, ZERO) - ready
        for part in of.parts.get(recipe, ()) if missing > 0 else ():
            need[part.used] = need.get(part.used, ZERO) + missing * part.quantity
    return need.get(of.item, ZERO)


def split(claims: Sequence[Claim], of: Supply) -> Split:
    """The best whole plates of each dish.

    Args:
        claims: the dishes; one without worth or without guests gets none.
        of: the item, what is on hand of it and in batches.
    """
    each = {c.dish: needed(c.dish, Fraction(1), of, use_batches=False).get(of.item, ZERO) for c in claims}
    live = [c for c in claims if c.wanted > 0 and c.worth > 0 and each[c.dish] > 0]
    live.sort(key=lambda c: (-c.worth / each[c.dish], c.dish))
    inside = sum(held(of, {r for c in live for r in needed(c.dish, Fraction(1), of, False)} - set(each)).values(), ZERO)
    search = _Search(live, of, each, (of.loose or ZERO) + inside)
    search.go(0, {}, ZERO)
    plates = {c.dish: search.best.get(c.dish, 0) for c in claims}
    return Split(plates, search.worth, search.steps <= MOST_STEPS)


class _Search:
    """Branch and bound over the dishes in their order."""

    def __init__(self, claims: Sequence[Claim], of: Supply, each: Mapping[str, Fraction], whole: Fraction) -> None:
        self.claims, self.of, self.each, self.whole = claims, of, each, whole
        self.best: dict[str, int] = {}
        self.worth, self.steps = ZERO, 0

    def go(self, at: int, taken: dict[str, int], worth: Fraction) -> None:
        self.steps += 1
        if worth > self.worth:
            self.best, self.worth = dict(taken), worth
        if at == len(self.claims) or self.steps > MOST_STEPS or worth + self._bound(at, taken) <= self.worth:
            return
        claim = self.claims[at]
        for number in range(self._most(claim, taken), -1, -1):
            self.go(at + 1, {**taken, claim.dish: number}, worth + number * claim.worth)

    def _most(self, claim: Claim, taken: Mapping[str, int]) -> int:
        """Most plates of one dish beside those taken already."""
        low, high = 0, claim.wanted
        while low < high:
            middle = (low + high + 1) // 2
            if needed_together({**taken, claim.dish: middle}, self.of) <= (self.of.loose or ZERO):
                low = middle
            else:
                high = middle - 1
        return low

    def _bound(self, at: int, taken: Mapping[str, int]) -> Fraction:
        """No more than this can be added: the item shared in fractions among the dishes left, the best first."""
        left = self.whole - sum((n * self.each[d] for d, n in taken.items()), ZERO)
        found = ZERO
        for claim in self.claims[at:]:
            plates = min(Fraction(claim.wanted), max(ZERO, left) / self.each[claim.dish])
            found, left = found + plates * claim.worth, left - plates * self.each[claim.dish]
        return found
