"""Can this guest have this dish? Pure: facts of a kitchen in, verdicts with their reasons out.

contains > may contain > not reviewed > not declared, per allergen, over every path of the dish. Cross-contact by a shared
surface is a reason of its own. What must be left off is the smallest set that clears every reason, found by trying
all sets in order of size: exact, not greedy.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations

from stillroom.db.allergen_facts import CONTAINS, MAY_CONTAIN, NOT_DECLARED, NOT_REVIEWED, STRENGTH, UNKNOWN, Presence

LEAVE_OFF = "leave off"
VERDICTS = (NOT_DECLARED, LEAVE_OFF, NOT_REVIEWED, MAY_CONTAIN, CONTAINS)


@dataclass(frozen=True)
class Way:
    """One path of a dish: the item at its end, names from the dish down, lines taken, recipes passed through."""

    item: str
    names: tuple[str, ...]
    components: tuple[int, ...]
    recipes: tuple[str, ...]


@dataclass(frozen=True)
class Dish:
    """A dish on the menu and all its paths."""

    id: str
    name: str
    section: str
    ways: tuple[Way, ...]


@dataclass(frozen=True)
class Facts:
    """What a kitchen's file says, as far as allergens go.

    removable: lines that a plate can go out without. line_names: line -> what it is. replacements: line of a dish -> names and
    item sets of listed substitutes. surfaces: surface name -> recipes that pass over it. tags: item -> words a guest may ask for.
    """

    dishes: tuple[Dish, ...]
    presence: Mapping[str, Presence]
    recipe_items: Mapping[str, frozenset[str]]
    recipe_names: Mapping[str, str]
    removable: frozenset[int] = frozenset()
    line_names: Mapping[int, str] = field(default_factory=dict)
    replacements: Mapping[int, tuple[tuple[str, frozenset[str]], ...]] = field(default_factory=dict)
    surfaces: Mapping[str, frozenset[str]] = field(default_factory=dict)
    tags: Mapping[str, frozenset[str]] = field(default_factory=dict)


@dataclass(frozen=True)
class Asked:
    """One thing a guest avoids: its word, the allergens it takes in, and the ingredient word where it is no allergen."""

    word: str
    allergens: frozenset[str] = frozenset()
    ingredient: str = ""


@dataclass(frozen=True)
class Reason:
    """Why a dish is not plain: what, how strongly, by which path, over which surface, and which lines would clear it."""

    allergen: str
    presence: str
    path: tuple[str, ...]
    surface: str = ""
    clears: frozenset[int] = frozenset()


@dataclass(frozen=True)
class Verdict:
    """The answer for one dish: the word, what to leave off, the line for the kitchen, and the reasons, worst first."""

    dish: Dish
    verdict: str
    leave_off: tuple[str, ...]
    note: str
    reasons: tuple[Reason, ...]
    oldest_review: str | None


def presence_of(asked: Asked, item: str, facts: Facts) -> str:
    """How strongly one item has what is asked for."""
    if asked.ingredient:
        return CONTAINS if asked.ingredient in facts.tags.get(item, frozenset()) else NOT_DECLARED
    return facts.presence.get(item, UNKNOWN).of(asked.allergens)


def strongest(presences: Iterable[str]) -> str:
    """The strongest of several presences; not declared where there are none."""
    return min(presences, key=STRENGTH.index, default=NOT_DECLARED)


def judge(dish: Dish, asked: Sequence[Asked], facts: Facts, menu: frozenset[str]) -> Verdict:
    """The verdict of one dish for everything a guest avoids.

    Args:
        dish: the dish.
        asked: what the guest avoids.
        facts: of the whole kitchen.
        menu: ids of all recipes cooked today; only they leave something on a surface.
    """
    clean = _clean_replacements(asked, facts)
    reasons = [r for one in asked for r in (*_by_label(dish, one, facts, clean), *_by_surface(dish, one, facts, menu, clean))]
    reasons.sort(key=lambda r: (STRENGTH.index(r.presence), r.surface != "", r.allergen, r.path))
    lines = smallest_cover([r.clears for r in reasons]) if reasons else ()
    if not reasons:
        word = NOT_DECLARED
    elif lines is not None:
        word = LEAVE_OFF
    else:
        word = strongest(r.presence for r in reasons)
    left = tuple(facts.line_names[c] for c in lines or ())
    reviews = [facts.presence.get(w.item, UNKNOWN).oldest_review for w in dish.ways]
    oldest = min((r for r in reviews if r), default=None)
    return Verdict(dish, word, left, _note(lines or (), facts, clean), tuple(reasons), oldest)


def _clean_replacements(asked: Sequence[Asked], facts: Facts) -> dict[int, str]:
    """Line -> the first listed substitute in which nothing asked for is declared and every label was read."""
    found = {}
    for line, options in facts.replacements.items():
        for name, items in options:
            if items and all(presence_of(one, item, facts) == NOT_DECLARED for one in asked for item in items):
                found[line] = name
                break
    return found


def _by_label(dish: Dish, asked: Asked, facts: Facts, clean: Mapping[int, str]) -> Iterable[Reason]:
    for way in dish.ways:
        presence = presence_of(asked, way.item, facts)
        if presence != NOT_DECLARED:
            yield Reason(asked.word, presence, way.names, "", _clearing(way.components, facts, clean))


def _by_surface(
    dish: Dish, asked: Asked, facts: Facts, menu: frozenset[str], clean: Mapping[int, str]
) -> Iterable[Reason]:
    """A recipe that passes over a surface takes up what others leave there: at most 'may contain'."""
    own = {dish.id} | {r for way in dish.ways for r in way.recipes}
    for surface, users in facts.surfaces.items():
        mine, others = users & own, (users & menu) - own
        if not mine or not others:
            continue
        left = {r: strongest(presence_of(asked, i, facts) for i in facts.recipe_items.get(r, ())) for r in others}
        worst = strongest(left.values())
        if worst not in {CONTAINS, NOT_REVIEWED}:
            continue
        source = min(r for r, p in left.items() if p == worst)
        presence = MAY_CONTAIN if worst == CONTAINS else NOT_REVIEWED
        for names, components in sorted(_to_surface(dish, mine)):
            path = (*names, f"shares {surface} with {facts.recipe_names[source]}")
            yield Reason(asked.word, presence, path, surface, _clearing(components, facts, clean))


def _to_surface(dish: Dish, mine: Iterable[str]) -> set[tuple[tuple[str, ...], tuple[int, ...]]]:
    """Ways, as names and lines, by which a dish passes over a surface; the empty way where it does itself."""
    if dish.id in mine:
        return {((), ())}
    found = set()
    for way in dish.ways:
        for depth, recipe in enumerate(way.recipes):
            if recipe in mine:
                found.add((way.names[: depth + 1], way.components[: depth + 1]))
    return found


def _clearing(components: Sequence[int], facts: Facts, clean: Mapping[int, str]) -> frozenset[int]:
    """Lines on a way that can be left off, or that a clean substitute can stand in for."""
    return frozenset(c for c in components if c in facts.removable or c in clean)


def smallest_cover(needs: Sequence[frozenset[int]]) -> tuple[int, ...] | None:
    """The smallest set of lines that takes at least one from every need; None where one need is empty.

    Exact: tries all sets by size. A need that holds another is met with it, so only the least ones count.

    Example:
        >>> smallest_cover([frozenset({1, 2}), frozenset({2, 3}), frozenset({3, 4})])
        (1, 3)
    """
    least = {n for n in needs if not any(other < n for other in needs)}
    if frozenset() in least:
        return None
    lines = sorted(frozenset().union(*least))
    for size in range(len(lines) + 1):
        for chosen in combinations(lines, size):
            picked = frozenset(chosen)
            if all(picked & need for need in least):
                return chosen
    return None


def _note(lines: Sequence[int], facts: Facts, clean: Mapping[int, str]) -> str:
    """One line for the kitchen."""
    parts = []
    for line in lines:
        name = facts.line_names[line]
        if line in facts.removable:
            parts.append(f"Leave off: {name}" + (f"; use {clean[line]} in its place" if line in clean else ""))
        else:
            parts.append(f"In place of {name} use {clean[line]}")
    return ". ".join(parts) + "." if parts else ""


def cooked_today(dishes: Iterable[Dish]) -> frozenset[str]:
    """Ids of the dishes and of every recipe they reach."""
    return frozenset(r for d in dishes for r in (d.id, *(x for way in d.ways for x in way.recipes)))
