"""The allergen line of a card or label: strongest presence first, what nobody has read said as such. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from stillroom.db.allergen_facts import CONTAINS, MAY_CONTAIN, NOT_REVIEWED, UNKNOWN, Presence
from stillroom.db.allergen_judging import Dish, Verdict


@dataclass(frozen=True)
class Declared:
    """What one recipe declares under the kitchen's list, nothing left off.

    contains, may, unknown: names of allergens; unknown are those that an unread label may hold. unread: items with a
    label that nobody has read. is_open: an unread label leaves every other allergen open. surfaces: shared surfaces
    behind a 'may contain'. oldest: ISO date of the oldest review. is_empty: nothing is written down.
    """

    regime: str
    contains: tuple[str, ...]
    may: tuple[str, ...]
    unknown: tuple[str, ...]
    unread: tuple[str, ...]
    is_open: bool
    surfaces: tuple[str, ...]
    oldest: str | None
    is_empty: bool

    @property
    def text(self) -> str:
        """The line as it stands on a label."""
        parts = [("Contains", self.contains), ("May contain", self.may)]
        said = [f"{word} {', '.join(names)}." for word, names in parts if names]
        if self.is_open:
            said.append(f"Not reviewed: {'all others' if said else 'no label read'}.")
        elif self.unknown:
            said.append(f"Not reviewed: {', '.join(self.unknown)}.")
        return " ".join(said) or f"No allergen of the {self.regime} list declared."


def declared(
    found: Dish, verdicts: Mapping[str, Verdict], names: Iterable[tuple[str, str]], presence: Mapping[str, Presence],
    regime: str,
) -> Declared:  # fmt: skip
    """The line of one recipe.

    Args:
        found: the recipe with its ways.
        verdicts: code of the regime's list -> its verdict.
        names: (code, name) of the regime's list, in its order.
        presence: item -> what its labels declare.
        regime: whose list.
    """
    by_word: dict[str, list[str]] = {}
    listed = list(names)
    for code, name in listed:
        reasons = verdicts[code].reasons
        if reasons:
            by_word.setdefault(reasons[0].presence, []).append(name)
    surfaces = {r.surface for v in verdicts.values() for r in v.reasons if r.surface and r.presence == MAY_CONTAIN}
    ends = {way.item: way.names[-1] for way in found.ways}
    unread = [name for item, name in ends.items() if not presence.get(item, UNKNOWN).is_reviewed]
    oldest = min((v.oldest_review for v in verdicts.values() if v.oldest_review), default=None)
    contains, may, unknown = (tuple(by_word.get(word, ())) for word in (CONTAINS, MAY_CONTAIN, NOT_REVIEWED))
    is_open = bool(unknown) and len(contains) + len(may) + len(unknown) == len(listed)
    return Declared(
        regime, contains, may, unknown, tuple(sorted(unread)), is_open, tuple(sorted(surfaces)), oldest, not found.ways
    )  # fmt: skip
