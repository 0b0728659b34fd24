"""What differs between versions of a draft: line by line, head by head, allergen by allergen. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from stillroom.db.allergen_facts import NOT_DECLARED, STRENGTH

SAME, CHANGED, ADDED, GONE = "same", "changed", "added", "gone"


@dataclass(frozen=True)
class Part:
    """One component of one version.

    Attributes:
        thing: id of the item or recipe, or the line itself where it can't be read.
        name: its name.
        line: as written, with what stands behind a bar.
        each: quantity for one unit of the version's yield [base unit of the thing]; None where it can't be read.
        more: can be left off, edible part, scaling: what else the line says.
    """

    thing: str
    name: str
    line: str
    each: Fraction | None
    more: tuple[str, ...] = ()


@dataclass(frozen=True)
class Row:
    """One thing across the versions. lines: of each version, () where it has none of it; differs: against the first."""

    name: str
    lines: tuple[tuple[str, ...], ...]
    how: tuple[str, ...]

    @property
    def differs(self) -> bool:
        """Whether any two versions say another thing of it."""
        return any(word != SAME for word in self.how)


def diff(versions: Sequence[Sequence[Part]]) -> list[Row]:
    """Every thing in any of the versions, in the order of the first version that has it.

    A version differs from the one before it where the sum of a thing for one unit of yield, or what its lines say
    beside the quantity, is another. Two lines of one thing count as their sum: parting a line in two changes nothing.
    """
    order: dict[str, str] = {}
    for parts in versions:
        for part in parts:
            order.setdefault(part.thing, part.name)
    sides = [_by_thing(parts) for parts in versions]
    return [_row(thing, name, sides) for thing, name in order.items()]


def _by_thing(parts: Sequence[Part]) -> dict[str, list[Part]]:
    found: dict[str, list[Part]] = {}
    for part in parts:
        found.setdefault(part.thing, []).append(part)
    return found


def _row(thing: str, name: str, sides: Sequence[Mapping[str, list[Part]]]) -> Row:
    told = [side.get(thing, []) for side in sides]
    words = [SAME, *(_how(old, new) for old, new in pairwise(told))]
    return Row(name, tuple(tuple(p.line for p in parts) for parts in told), tuple(words))


def _how(old: Sequence[Part], new: Sequence[Part]) -> str:
    """What became of a thing from one version to the next."""
    if not old and not new:
        return SAME
    if not old or not new:
        return GONE if old else ADDED
    return SAME if _worth(old) == _worth(new) else CHANGED


def _worth(parts: Sequence[Part]) -> tuple[object, ...]:
    """What counts of a thing's lines: how much of it there is, by what else each line says."""
    sums: dict[tuple[str, ...], Fraction] = {}
    unread = []
    for part in parts:
        if part.each is None:
            unread.append(part.line)
        else:
            sums[part.more] = sums.get(part.more, Fraction(0)) + part.each
    return (tuple(sorted(sums.items())), tuple(sorted(unread)))


def turned(
    before: Mapping[str, str], after: Mapping[str, str], within: Mapping[str, Sequence[str]] | None = None
) -> tuple[list[str], list[str]]:
    """Allergens that are stronger in a version than in the one before, and those that are weaker.

    Args:
        before, after: allergen's name -> presence; one that is not there is not declared.
        within: kind -> groups that take it in (walnut: nuts). What a group says of itself is not said of its kinds too.
    """
    groups = within or {}
    rank = {name: STRENGTH.index(after.get(name, NOT_DECLARED)) - STRENGTH.index(before.get(name, NOT_DECLARED))
            for name in {**before, **after}}  # fmt: skip
    gained, lost = {n for n, step in rank.items() if step < 0}, {n for n, step in rank.items() if step > 0}
    return ([n for n in rank if n in gained and gained.isdisjoint(groups.get(n, ()))],
            [n for n in rank if n in lost and lost.isdisjoint(groups.get(n, ()))])  # fmt: skip


def mean(scores: Sequence[int | None]) -> Fraction | None:
    """Mean of the scores given [1 to 10]; None where nobody gave one."""
    given = [score for score in scores if score is not None]
    return Fraction(sum(given), len(given)) if given else None
