"""Something is short: what it reaches, how many plates are left, what a substitute would change. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from stillroom.db.allergen_facts import UNKNOWN, Presence


@dataclass(frozen=True)
class Stock:
    """What is on hand of one thing [its base unit]: last count, and what came or left after it; None = never counted."""

    counted: Fraction | None
    counted_on: str | None
    came: Fraction = Fraction(0)
    left: Fraction = Fraction(0)

    @property
    def on_hand(self) -> Fraction | None:
        """Never below nothing; None where there was neither a count nor anything that came."""
        if self.counted is None and not self.came:
            return None
        return max(Fraction(0), (self.counted or Fraction(0)) + self.came - self.left)


@dataclass(frozen=True)
class Use:
    """One way that a dish uses an item: purchased quantity for a plate, the path, and the sub-recipes on it."""

    quantity: Fraction
    path: tuple[str, ...]
    recipes: tuple[str, ...]


def purchased(quantity: Fraction, edible_yield: Fraction | None) -> Fraction:
    """AP quantity of an EP quantity [same unit]: AP = EP / yield."""
    return quantity if edible_yield is None else quantity / edible_yield


def held_in_batches(on_hand: Mapping[str, Fraction | None], per_unit: Mapping[str, Fraction]) -> Fraction:
    """How much of an item is already inside batches on hand [the item's unit].

    Args:
        on_hand: recipe -> what is on hand of it.
        per_unit: recipe -> quantity of the item in one base unit of it.
    """
    return sum((on_hand[r] or Fraction(0)) * q for r, q in per_unit.items() if on_hand.get(r) is not None) or Fraction(0)


def plates_left(uses: Iterable[Use], loose: Fraction | None, batches: Mapping[str, Fraction | None], per_unit: Mapping[str, Fraction]) -> int | None:
    """Whole plates of one dish if all that is on hand went into it; None where nothing is known to be on hand.

    The item counts loose and inside the batches that this dish draws on, the nearest to the plate first.
    """
    uses = list(uses)
    need = sum((u.quantity for u in uses), Fraction(0))
    own = {r for u in uses for r in u.recipes}
    held = held_in_batches({r: batches.get(r) for r in own}, {r: per_unit[r] for r in own if r in per_unit})
    if need <= 0 or (loose is None and not held):
        return None
    return int(((loose or Fraction(0)) + held) // need)


def allergen_change(dish_items: frozenset[str], replaced: frozenset[str], new: frozenset[str], presence: Mapping[str, Presence]) -> dict[str, list[str]]:
    """What a substitute does to a dish: allergens gained and lost (contains or may contain), and labels nobody has read.

    Args:
        dish_items: all items of the dish.
        replaced: items that leave the dish altogether.
        new: items that come in.
        presence: what items declare.
    """

    def declared(items: Iterable[str]) -> frozenset[str]:
        facts = [presence.get(i, UNKNOWN) for i in items]
        return frozenset().union(*(f.contains | f.may for f in facts))

    kept = dish_items - replaced
    before, after = declared(dish_items), declared(kept | new)
    unread = sorted(i for i in new if not presence.get(i, UNKNOWN).is_reviewed)
    return {"gained": sorted(after - before), "lost": sorted(before - after), "not_reviewed": unread}
