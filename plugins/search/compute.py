"""What was typed into the box, as a question to the index, and typing slips measured. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from stillroom.db.names import fold
from stillroom.db.search_index import EARLIER, LONG, NAMED_ANEW, SHORTEST_MENDED, words_in

MOST_WORDS = 8
MOST_TYPED = 80


@dataclass(frozen=True)
class Kind:
    """A kind of thing: its word in the index, its heading, the action that its pages need, and their address."""

    word: str
    title: str
    needs: str
    address: str


@dataclass(frozen=True)
class Hit:
    """One thing found. more stands beside its name."""

    kind: str
    address: str
    name: str
    more: str


@dataclass(frozen=True)
class Group:
    """The things of one kind, the nearest first; there_are_more: not all are here."""

    title: str
    hits: tuple[Hit, ...]
    there_are_more: bool


KINDS = (
    Kind("dish", "Dishes", "dish", "/dish/"), Kind("recipe", "Recipes", "recipe", "/recipe/"),
    Kind("draft", "Drafts", "trials", "/recipe/"), Kind("trial", "Trials", "taste", "/trials/"),
    Kind("item", "Items", "short", "/short/"),
    Kind("supplier", "Suppliers", "suppliers", "/suppliers/"), Kind("product", "Products", "suppliers", "/suppliers/"),
    Kind("person", "People", "tables", "/kitchen/people/"),
)  # fmt: skip
BATCH_LOTS = Kind("batch", "Batches", "labels", "/batch/")
AGEING_LOTS = Kind("ageing", "Ageing lots", "ageing", "/ageing/")
DELIVERED_LOTS = Kind("delivery", "Delivered lots", "trace", "/trace?lot=")


def terms(typed: str) -> list[str]:
    """The words to look for, each once; punctuation and operators mean nothing."""
    return list(dict.fromkeys(words_in(typed[:MOST_TYPED])))[:MOST_WORDS]


def expression(alternatives: Sequence[Sequence[str]]) -> str:
    """The question to the index: names with, for every word, one of its alternatives as a beginning.

    Words are letters and digits alone (`terms`), so nothing typed can be an operator.
    """
    return " AND ".join(f"({' OR '.join(f'{chr(34)}{word}{chr(34)} *' for word in one)})" for one in alternatives)


def pieces(word: str) -> str:
    """The question to the index of long words: any three letters in a row in common."""
    return " OR ".join(f'"{word[n : n + 3]}"' for n in range(len(word) - 2))


def slips(word: str) -> int:
    """How many slips are forgiven in a word of this length."""
    return 0 if len(word) < SHORTEST_MENDED or word.isdigit() else 2 if len(word) >= LONG else 1


def nearest(word: str, candidates: Iterable[str]) -> list[list[str]]:
    """The candidates within the slips forgiven, in groups: those with the fewest slips first."""
    by_slips: dict[int, list[str]] = {}
    for other in candidates:
        by_slips.setdefault(distance(word, other, slips(word)), []).append(other)
    return [sorted(by_slips[n]) for n in sorted(by_slips) if n <= slips(word)]


def distance(a: str, b: str, most: int) -> int:
    """Letters left out, put in, changed, or two neighbours changed about, from one word to another; most + 1 if more.

    The restricted Damerau-Levenshtein distance (optimal string alignment).
    """
    if abs(len(a) - len(b)) > most:
        return most + 1
    before, row = [0] * (len(b) + 1), list(range(len(b) + 1))
    for i, x in enumerate(a, 1):
        last, before, row = before, row, [i] + [0] * len(b)
        for j, y in enumerate(b, 1):
            row[j] = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (x != y))
            if i > 1 and j > 1 and x == b[j - 2] and a[i - 2] == y:
                row[j] = min(row[j], last[j - 2] + 1)
        if min(row) > most:
            return most + 1
    return min(row[-1], most + 1)


def in_order(hits: Iterable[Hit], typed: str) -> list[Hit]:
    """The exact name first, then those with the words whole, then those that begin as typed, then the rest.

    What is found by its present name is not shown by an earlier one too, nor by two earlier ones.
    """
    whole, words = fold(typed), set(terms(typed))

    def rank(hit: Hit) -> tuple[bool, bool, bool, int, str]:
        said = hit.more.removeprefix(EARLIER) if _is_earlier(hit) else hit.name
        name = fold(said)
        return name != whole, not words <= set(words_in(said)), not name.startswith(whole), len(name), name

    found = sorted(hits, key=rank)
    shown = {hit.address for hit in found if not _is_earlier(hit)}
    kept = []
    for hit in found:
        if not _is_earlier(hit) or hit.address not in shown:
            kept.append(hit)
            shown.add(hit.address)
    return kept


def _is_earlier(hit: Hit) -> bool:
    """Whether a thing was found by a name that it had."""
    return hit.kind in NAMED_ANEW and hit.more.startswith(EARLIER)
