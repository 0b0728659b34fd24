"""The smallest set that meets every need. Pure."""

from __future__ import annotations

from collections.abc import Sequence

Need = frozenset[int]


def smallest_cover(needs: Sequence[Need]) -> tuple[int, ...] | None:
    """The smallest set of lines that takes at least one from every need; None where one need is empty.

    Exact: looks for a set of one line, then of two, and so on, branching on the lines of a need not yet met. Needs that
    share no line ask for one each, so a branch with fewer lines left than such needs is given up.

    Returns:
        The lines in order; () where nothing is needed.

    Example:
        >>> smallest_cover([frozenset({1, 2}), frozenset({2, 3}), frozenset({3, 4})])
        (1, 3)
    """
    distinct = sorted(set(needs), key=lambda need: (len(need), sorted(need)))
    least = [need for need in distinct if not any(other < need for other in distinct)]
    if least and not least[0]:
        return None
    for size in range(len(frozenset().union(*least)) + 1):
        found = _cover(least, size)
        if found is not None:
            return tuple(sorted(found))
    return None


def _cover(needs: Sequence[Need], size: int) -> tuple[int, ...] | None:
    """A set of at most `size` lines that meets the needs."""
    if not needs:
        return ()
    if _apart(needs) > size:
        return None
    for line in sorted(needs[0]):
        rest = _cover([need for need in needs if line not in need], size - 1)
        if rest is not None:
            return (line, *rest)
    return None


def _apart(needs: Sequence[Need]) -> int:
    """How many needs, taken in order, share no line with one taken before: at least as many lines are asked for."""
    taken: set[int] = set()
    count = 0
    for need in needs:
        if taken.isdisjoint(need):
            taken |= need
            count += 1
    return count
