"""An ingredient list as printed, read for words that point to an allergen: suggestions, never declarations."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise

from stillroom.db.names import words_in

CONTAINS, MAY = "contains", "may contain"
TRACES = re.compile(r"\b(may (also )?contain|traces? of|(made|produced|processed|packed|prepared) (in|on) an?)\b", re.I)
DENIALS = frozenset({"without", "no", "non"})
# Common practice, no source: names with an allergen's word in them that are another thing.
OTHER_THINGS = (
    "cocoa butter", "shea butter", "butter bean", "butter lettuce", "butternut squash", "cream of tartar",
    "water chestnut", "milk thistle", "egg plant",
)
PHRASE = re.compile(r"[,;:()\[\]{}\n•·]|\.(?!\d)")


@dataclass(frozen=True)
class LabelWord:
    """A word, or several in a row, that points to an allergen. presence: 'contains', or `may contain`."""

    word: str
    allergen: str
    presence: str
    why: str = ""
    source: str = ""
    basis: str = ""


@dataclass(frozen=True)
class Suggestion:
    """Something a person should look at on the label.

    Attributes:
        allergen: id of the allergen that the word points to.
        presence: 'contains', or 'may contain' where the word or the sentence around it only says so.
        word: the label word.
        within: the phrase it stands in, as printed.
        is_denied: the phrase speaks of being without it: what exactly it says is for a person to read.
        why, source, basis: of the label word.
    """

    allergen: str
    presence: str
    word: str
    within: str
    is_denied: bool = False
    why: str = ""
    source: str = ""
    basis: str = ""


class LabelReader:
    """Reads ingredient lists with a list of label words."""

    def __init__(self, known: Iterable[LabelWord]) -> None:
        self._by_words: dict[tuple[str, ...], list[LabelWord]] = {}
        for one in known:
            self._by_words.setdefault(words_in(one.word), []).append(one)
        self._by_words.pop((), None)
        self._by_words |= {words_in(name): [] for name in OTHER_THINGS}
        self._longest = max(map(len, self._by_words), default=0)

    def read(self, text: str) -> list[Suggestion]:
        """What an ingredient list points to, in the order printed, each allergen once a phrase.

        Of two words that stand in the same place the longer one counts: 'coconut milk' is not milk. A word that is not
        on the list points to nothing: an empty answer says nothing about the product.
        """
        found: dict[tuple[str, str, str, bool], Suggestion] = {}
        for phrase, is_trace in phrases(text):
            for one, is_denied in self._in(phrase):
                presence = MAY if is_trace else one.presence
                made = Suggestion(one.allergen, presence, one.word, phrase, is_denied, one.why, one.source, one.basis)
                found.setdefault((made.allergen, made.within, made.presence, made.is_denied), made)
        return list(found.values())

    def _in(self, phrase: str) -> Iterator[tuple[LabelWord, bool]]:
        """Label words in a phrase, the longest at each place, and whether the phrase denies them."""
        words, at = words_in(phrase), 0
        while at < len(words):
            length = self._length_at(words, at)
            for one in self._by_words.get(words[at : at + length], ()):
                yield one, _is_denied(words, at, at + length)
            at += length

    def _length_at(self, words: tuple[str, ...], at: int) -> int:
        """Words in the longest known name that begins here; 1 where there is none."""
        most = min(self._longest, len(words) - at)
        return next((n for n in range(most, 0, -1) if words[at : at + n] in self._by_words), 1)


def _is_denied(words: tuple[str, ...], begin: int, end: int) -> bool:
    """'gluten-free oats', 'without milk', 'free from nuts': the phrase speaks of being without what stands there."""
    before, after = words[:begin], words[end : end + 2]
    pairs = set(pairwise(before))
    if DENIALS.intersection(before) or pairs & {("free", "from"), ("free", "of")}:
        return True
    return after[:1] == ("free",) and after[1:] not in {("from",), ("of",)}


def phrases(text: str) -> Iterator[tuple[str, bool]]:
    """Each phrase of an ingredient list, and whether it stands in a sentence about traces.

    Example:
        >>> list(phrases("Wheat flour, salt. May contain nuts, milk."))
        [('Wheat flour', False), ('salt', False), ('May contain nuts', True), ('milk', True)]
    """
    for sentence in re.split(r"\.(?=\s|$)", text):
        is_trace = False
        for phrase in PHRASE.split(sentence):
            is_trace = is_trace or TRACES.search(phrase) is not None
            if phrase.strip():
                yield " ".join(phrase.split()), is_trace


def strongest(suggestions: Iterable[Suggestion]) -> dict[str, Suggestion]:
    """Allergen -> the strongest suggestion of it that nothing denies."""
    found: dict[str, Suggestion] = {}
    for one in suggestions:
        if not one.is_denied and (one.allergen not in found or found[one.allergen].presence == MAY != one.presence):
            found[one.allergen] = one
    return found


def behind(reader: LabelReader, kin: Mapping[str, set[str]], words: str, brought: set[str]) -> dict[str, str]:
    """What words behind a name in a recipe line point to and nothing brings -> the phrase that they stand in.

    Args:
        kin: of `kin_of`; what is not an allergen is its own only kin.
        brought: allergens, and whatever else the reader knows, that the recipe's lines bring.
    """
    return {key: within for key, within in pointed(reader, words).items() if not kin.get(key, {key}) & brought}


def pointed(reader: LabelReader, text: str) -> dict[str, str]:
    """Allergen that a text points to as contained -> the phrase it stands in."""
    return {key: one.within for key, one in strongest(reader.read(text)).items() if one.presence == CONTAINS}


def label_words(reference: sqlite3.Connection) -> list[LabelWord]:
    """All words that point to an allergen."""
    words = reference.execute("select word, allergen_id, presence, why, source, basis from label_words")
    return [LabelWord(*row) for row in words]


def kin_of(reference: sqlite3.Connection) -> dict[str, set[str]]:
    """Allergen -> itself, the groups above it and the kinds below it."""
    parent: dict[str, str | None] = dict(reference.execute("select id, parent_id from allergens"))
    above: dict[str, set[str]] = {}
    for one in parent:
        chain, at = {one}, parent[one]
        while at is not None and at not in chain:
            chain.add(at)
            at = parent.get(at)
        above[one] = chain
    return {one: above[one] | {other for other in parent if one in above[other]} for one in parent}
