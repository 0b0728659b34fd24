"""Can this guest have this dish? Pure: facts of a kitchen in, verdicts with their reasons out.

contains > may contain > not reviewed > not declared, per allergen, over every path of the dish. Cross-contact by a
shared surface is a reason of its own. What must be left off is the smallest set that clears every reason: exact, not
greedy. Whatever is unknown (a label nobody has read, a word nobody here has used, a dish with nothing written down) is
not reviewed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from stillroom.db.allergen_cover import smallest_cover
from stillroom.db.allergen_facts import CONTAINS, MAY_CONTAIN, NOT_DECLARED, NOT_REVIEWED, STRENGTH, UNKNOWN, Presence

LEAVE_OFF = "leave off"


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
class Replacement:
    """A listed substitute: its name, every item in it, and the recipes that are cooked for it."""

    name: str
    items: frozenset[str]
    recipes: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Facts:
    """What a kitchen's file says, as far as allergens go.

    recipe_items: recipe -> every item in it. removable: lines that a plate can go out without. line_names: line ->
    what it is. replacements: line of a dish -> listed substitutes, best first. surfaces: surface name -> recipes that
    pass over it.
    """

    dishes: tuple[Dish, ...]
    presence: Mapping[str, Presence]
    recipe_items: Mapping[str, frozenset[str]]
    recipe_names: Mapping[str, str]
    removable: frozenset[int] = frozenset()
    line_names: Mapping[int, str] = field(default_factory=dict)
    replacements: Mapping[int, tuple[Replacement, ...]] = field(default_factory=dict)
    surfaces: Mapping[str, frozenset[str]] = field(default_factory=dict)


@dataclass(frozen=True)
class Asked:
    """One thing a guest avoids: its word, the allergens it takes in, the items it names; or a word unknown here."""

    word: str
    allergens: frozenset[str] = frozenset()
    items: frozenset[str] = frozenset()
    is_known: bool = True


@dataclass(frozen=True)
class Reason:
    """Why a dish is not plain: what, how strongly, by which path, over which surface, and which lines would clear it.

    An empty path says that the word itself is unknown here.
    """

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


Carried = Mapping[str, Mapping[str, str]]


def presence_of(asked: Asked, item: str, facts: Facts) -> str:
    """How strongly one item has what is asked for; an unread label may hold any ingredient, and is not reviewed."""
    if item in asked.items:
        return CONTAINS
    return facts.presence.get(item, UNKNOWN).of(asked.allergens)


def judge(dish: Dish, asked: Sequence[Asked], facts: Facts, cooked: frozenset[str]) -> Verdict:
    """The verdict of one dish: see judge_all."""
    return judge_all((dish,), asked, facts, cooked)[0]


def judge_all(dishes: Iterable[Dish], asked: Sequence[Asked], facts: Facts, cooked: frozenset[str]) -> list[Verdict]:
    """The verdict of each dish for everything a guest avoids.

    Args:
        dishes: the dishes.
        asked: what the guest avoids.
        facts: of the whole kitchen.
        cooked: ids of all recipes cooked today; only they leave something on a surface.
    """
    dishes = tuple(dishes)
    taken = frozenset(c for dish in dishes for way in dish.ways for c in way.components)
    carried = {one: carried_by(one, facts, cooked) for one in asked if one.is_known}
    clean = _clean_replacements(carried, facts, taken)
    lines = facts.removable.union(clean)
    return [_verdict(dish, [r for one in asked for r in _reasons(dish, one, facts, carried, lines)], facts, clean)
            for dish in dishes]  # fmt: skip


def _verdict(dish: Dish, reasons: list[Reason], facts: Facts, clean: Mapping[int, str]) -> Verdict:
    reasons.sort(key=lambda r: (STRENGTH.index(r.presence), r.surface != "", r.allergen, r.path))
    lines = smallest_cover([r.clears for r in reasons])
    if not reasons:
        word = NOT_DECLARED
    elif lines is not None:
        word = LEAVE_OFF
    else:
        word = reasons[0].presence
    left = tuple(facts.line_names[c] for c in lines or ())
    reviews = [facts.presence.get(w.item, UNKNOWN).oldest_review for w in dish.ways]
    oldest = min((r for r in reviews if r), default=None)
    return Verdict(dish, word, left, _note(lines or (), facts, clean), tuple(reasons), oldest)


def carried_by(asked: Asked, facts: Facts, cooked: frozenset[str]) -> Carried:
    """Surface -> recipe -> what the recipe leaves there.

    Every recipe that passes over a surface today leaves all that it contains: 'may contain' by cross-contact; and what
    nobody has read in it stays 'not reviewed'. A label's own 'may contain' is not handed on.
    """
    found: dict[str, dict[str, str]] = {}
    for surface, users in facts.surfaces.items():
        left = {recipe: _left_by(asked, recipe, facts) for recipe in users & cooked}
        found[surface] = {recipe: presence for recipe, presence in left.items() if presence != NOT_DECLARED}
    return found


def _left_by(asked: Asked, recipe: str, facts: Facts) -> str:
    items = facts.recipe_items.get(recipe)
    inside = {presence_of(asked, item, facts) for item in items} if items else {NOT_REVIEWED}
    if CONTAINS in inside:
        return MAY_CONTAIN
    return NOT_REVIEWED if NOT_REVIEWED in inside else NOT_DECLARED


def _clean_replacements(carried: Mapping[Asked, Carried], facts: Facts, taken: frozenset[int]) -> dict[int, str]:
    """Line -> the first listed substitute in which nothing asked for is declared, carried or unread.

    Args:
        taken: the lines that are asked about; a kitchen has many more.
    """

    def is_clean(option: Replacement, one: Asked) -> bool:
        touched = (sources for surface, sources in carried[one].items() if facts.surfaces[surface] & option.recipes)
        return not any(touched) and all(presence_of(one, item, facts) == NOT_DECLARED for item in option.items)

    found = {}
    for line in taken.intersection(facts.replacements):
        for option in facts.replacements[line]:
            if option.items and all(is_clean(option, one) for one in carried):
                found[line] = option.name
                break
    return found


def _reasons(
    dish: Dish, asked: Asked, facts: Facts, carried: Mapping[Asked, Carried], lines: frozenset[int]
) -> Iterator[Reason]:
    """Everything that stands between one dish and one thing asked for; `lines` can be left off or replaced."""
    if not asked.is_known:
        yield Reason(asked.word, NOT_REVIEWED, ())
        return
    if not dish.ways:
        yield Reason(asked.word, NOT_REVIEWED, ("nothing is written down for this dish",))
    for way in dish.ways:
        presence = presence_of(asked, way.item, facts)
        if presence != NOT_DECLARED:
            yield Reason(asked.word, presence, way.names, "", lines.intersection(way.components))
    for surface, sources in carried[asked].items():
        if sources:
            yield from _by_surface(dish, asked, facts, surface, sources, lines)


def _by_surface(
    dish: Dish, asked: Asked, facts: Facts, surface: str, sources: Mapping[str, str], lines: frozenset[int]
) -> Iterator[Reason]:
    """A recipe that passes over a surface takes up what others leave there, and other plates of itself."""
    for recipe, names, taken in sorted(_passes(dish, facts.surfaces[surface])):
        own = _can_lose(dish, asked, facts, taken, lines)
        others = [(STRENGTH.index(p), r == recipe, r) for r, p in sources.items() if r != recipe or own]
        if others:
            _, is_own, source = min(others)
            name = "this dish" if source == dish.id else facts.recipe_names.get(source, source)
            others_of = "other plates of " if is_own or source == dish.id else ""
            path = (*names, f"shares {surface} with {others_of}{name}")
            yield Reason(asked.word, sources[source], path, surface, lines.intersection(taken))


def _passes(dish: Dish, users: frozenset[str]) -> set[tuple[str, tuple[str, ...], tuple[int, ...]]]:
    """Recipes of a dish that pass over a surface, with the names and lines that lead to each; itself by none."""
    if dish.id in users:
        return {(dish.id, (), ())}
    return {
        (recipe, way.names[: depth + 1], way.components[: depth + 1])
        for way in dish.ways
        for depth, recipe in enumerate(way.recipes)
        if recipe in users
    }


def _can_lose(dish: Dish, asked: Asked, facts: Facts, taken: tuple[int, ...], lines: frozenset[int]) -> bool:
    """Whether it can be left off this plate further down, while other plates still bring it to the surface."""
    depth = len(taken)
    return any(
        way.components[:depth] == taken and not lines.isdisjoint(way.components[depth:])
        and presence_of(asked, way.item, facts) in {CONTAINS, NOT_REVIEWED}
        for way in dish.ways
    )  # fmt: skip


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
