"""Something is short: what is on hand, how many plates that makes, what a substitute changes. Pure.

Plates are netted level by level: a plate takes what it needs of a sub-recipe from the batches on hand first, and only
what is missing is made anew from the item. So a batch never serves a line of the dish that doesn't use that batch.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from graphlib import TopologicalSorter

from stillroom.db.allergen_facts import CONTAINS, MAY_CONTAIN, NOT_DECLARED, NOT_REVIEWED, STRENGTH, UNKNOWN, Presence

ZERO = Fraction(0)
DECLARED = (CONTAINS, MAY_CONTAIN)


@dataclass(frozen=True)
class Part:
    """One line of a recipe: what it uses [its unit; AP for an item] for one base unit of the recipe's yield."""

    recipe: str
    used: str
    quantity: Fraction


@dataclass(frozen=True)
class Supply:
    """The recipes above one item, and what is on hand of the item (loose) and of each recipe; None = not known."""

    item: str
    parts: Mapping[str, Sequence[Part]]
    loose: Fraction | None
    batches: Mapping[str, Fraction | None]
    levels: Sequence[str] = field(default=())


def supply(item: str, parts: Iterable[Part], loose: Fraction | None, batches: Mapping[str, Fraction | None]) -> Supply:
    """The recipes above an item with every recipe after all that use it: the order of netting."""
    grouped: dict[str, list[Part]] = {}
    users: dict[str, set[str]] = {}
    for part in parts:
        grouped.setdefault(part.recipe, []).append(part)
        users.setdefault(part.used, set()).add(part.recipe)
    return Supply(item, grouped, loose, batches, tuple(TopologicalSorter(users).static_order()))


def needed(dish: str, plates: Fraction, of: Supply, use_batches: bool = True) -> dict[str, Fraction]:
    """Quantity of everything on the way to the item for some plates of a dish [unit of each thing; AP for the item].

    For a recipe it is what the plates call for; what batches on hand cover is not made anew (use_batches).
    """
    need = {dish: plates}
    for recipe in of.levels:
        ready = (of.batches.get(recipe) or ZERO) if use_batches and recipe != dish else ZERO
        missing = need.get(recipe, ZERO) - ready
        for part in of.parts.get(recipe, ()) if missing > 0 else ():
            need[part.used] = need.get(part.used, ZERO) + missing * part.quantity
    return need


@dataclass(frozen=True)
class Plates:
    """Plates left: None = not known. is_at_least: from batches alone, nobody counted the item itself."""

    number: int | None
    is_at_least: bool = False


def plates_left(dish: str, of: Supply) -> Plates:
    """Whole plates of one dish if all that is on hand went into it."""
    each = needed(dish, Fraction(1), of, use_batches=False)
    if each.get(of.item, ZERO) <= 0:
        return Plates(None)
    loose = of.loose or ZERO
    low, high = 0, int((loose + sum(held(of, set(each) - {dish}).values(), ZERO)) / each[of.item])
    while low < high:
        middle = (low + high + 1) // 2
        if needed(dish, Fraction(middle), of).get(of.item, ZERO) <= loose:
            low = middle
        else:
            high = middle - 1
    return Plates(low if of.loose is not None else low or None, of.loose is None and low > 0)


def held(of: Supply, recipes: Iterable[str] | None = None) -> dict[str, Fraction]:
    """How much of the item is inside the batches on hand of each recipe [the item's unit, AP]."""
    found = {}
    for recipe in of.parts if recipes is None else recipes:
        ready = of.batches.get(recipe) or ZERO
        if ready > 0 and recipe in of.parts:
            found[recipe] = needed(recipe, ready, of, use_batches=False).get(of.item, ZERO)
    return found


@dataclass(frozen=True)
class Way:
    """One path of a dish: the item at its end and the recipes passed through, the dish itself left out."""

    item: str
    through: tuple[str, ...] = ()


@dataclass(frozen=True)
class Change:
    """What a substitute does to what a dish declares.

    gained, lost: (allergen, strongest presence after or before). weaker: still there, less strongly ('contains' to 'may
    contain'). unknown: was declared, and now only labels that nobody has read could tell. unread: items coming in that
    have such labels.
    """

    gained: tuple[tuple[str, str], ...]
    lost: tuple[tuple[str, str], ...]
    weaker: tuple[str, ...]
    unknown: tuple[str, ...]
    unread: tuple[str, ...]


def remaining(dish: str, ways: Iterable[Way], old: str, within: str | None = None) -> frozenset[str] | None:
    """Items that stay in a dish when `old` leaves, by other paths too; None where the swap doesn't touch the dish.

    Args:
        dish: id of the dish.
        ways: all its paths.
        old: the item or sub-recipe that leaves.
        within: the only recipe in which it is replaced; None = everywhere.
    """
    ways = list(ways)
    gone = {w for w in ways if old in (w.item, *w.through) and (within is None or within in (dish, *w.through))}
    return frozenset(w.item for w in ways if w not in gone) if gone else None


def allergen_change(
    before: frozenset[str],
    after: frozenset[str],
    presence: Mapping[str, Presence],
    families: Mapping[str, frozenset[str]] | None = None,
) -> Change:
    """What changes in the declarations of a dish when its items change.

    Args:
        before: items of the dish.
        after: items of the dish with the substitute.
        presence: what items declare.
        families: allergen -> wider and narrower ones (walnut: tree nut). One is not lost while a relative is there.
    """
    old, new = _declared(before, presence), _declared(after, presence)
    families = families or {}
    kept = {a for a, p in new.items() if p in DECLARED}
    moved = {a: (old.get(a, _default(before, presence)), new.get(a, _default(after, presence))) for a in {*old, *new}}
    weaker = {a for a, (was, now) in moved.items() if was in DECLARED and _is_stronger(was, now)}
    related = {a for a in weaker if a not in kept and families.get(a, frozenset()) & kept}
    lost = {a for a in weaker - related if moved[a][1] == NOT_DECLARED}
    return Change(
        tuple((a, now) for a, (was, now) in sorted(moved.items()) if now in DECLARED and _is_stronger(now, was)),
        tuple((a, moved[a][0]) for a in sorted(lost)),
        tuple(sorted(weaker & kept)),
        tuple(sorted(related | {a for a in weaker if moved[a][1] == NOT_REVIEWED})),
        tuple(sorted(i for i in after - before if not presence.get(i, UNKNOWN).is_reviewed)),
    )  # fmt: skip


def _is_stronger(one: str, other: str) -> bool:
    return STRENGTH.index(one) < STRENGTH.index(other)


def _declared(items: Iterable[str], presence: Mapping[str, Presence]) -> dict[str, str]:
    """Allergen -> the strongest that any item declares."""
    found: dict[str, str] = {}
    for fact in (presence.get(i, UNKNOWN) for i in items):
        found |= {a: MAY_CONTAIN for a in fact.may if found.get(a) != CONTAINS}
        found |= dict.fromkeys(fact.contains, CONTAINS)
    return found


def _default(items: Iterable[str], presence: Mapping[str, Presence]) -> str:
    """What is known of an allergen that no item declares."""
    return NOT_DECLARED if all(presence.get(i, UNKNOWN).is_reviewed for i in items) else NOT_REVIEWED
