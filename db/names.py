"""Names and the ids made from them. The only place that folds accents."""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Container, Iterable, Sequence
from functools import lru_cache

# Letters that Unicode does not take apart into a plain letter and a mark.
PLAIN = str.maketrans(
    {"ø": "o", "Ø": "O", "ł": "l", "Ł": "L", "đ": "d", "ð": "d", "þ": "th", "ß": "ss", "ı": "i"}
    | {"æ": "ae", "Æ": "AE", "œ": "oe", "Œ": "OE"}
)

NEAR = 0.7  # how like two names must be for one to be offered in the other's place
NEARER = 0.85  # and two words, where only one of a name's is like it
MOST_NEAR = 3
ES = ("ches", "shes", "sses", "xes", "oes")


def fold(text: str) -> str:
    """Lower case, accents off, white space single: how two spellings of a name are compared.

    Example:
        >>> fold("  Celeriac  PURÉE ")
        'celeriac puree'
    """
    plain = unicodedata.normalize("NFKD", text.translate(PLAIN))
    return " ".join("".join(c for c in plain if not unicodedata.combining(c)).casefold().split())


def slug(name: str) -> str:
    """The id of a name: folded, every run of other characters one '-'.

    Example:
        >>> slug("Crème fraîche, 30 %")
        'creme-fraiche-30'
    """
    return re.sub(r"[^a-z0-9]+", "-", fold(name)).strip("-")


def near_names(name: str, folded: Iterable[str]) -> list[str]:
    """Folded names that may be meant, three at most: those that hold every word of it, the fewest others first; where
    there is none, the one most like it; else those that share a word with it, or nearly.

    Example:
        >>> known = ["butter, salted", "brown butter", "butter, unsalted", "leeks"]
        >>> near_names("Butter", known), near_names("Lekes", known), near_names("Beef", known)
        (['butter, salted', 'butter, unsalted', 'brown butter'], ['leeks'], [])
    """
    text, known = fold(name), list(folded)
    words = words_of(text)
    holding = [one for one in known if words and words <= words_of(one)]
    if holding:
        return sorted(holding, key=lambda one: (len(words_of(one)), not one.startswith(text), one))[:MOST_NEAR]
    like = difflib.get_close_matches(text, known, 1, NEAR)
    return like or _sharing(words_in(text), known)


def _sharing(words: Iterable[str], known: Iterable[str]) -> list[str]:
    """Names with a word that begins like one of these and is nearly it."""
    named: dict[str, list[str]] = {}
    for one in known:
        for part in words_of(one):
            named.setdefault(part, []).append(one)
    found: dict[str, None] = {}
    for word in (word for word in words if len(word) > 2):
        alike = [part for part in named if part[0] == word[0] and abs(len(part) - len(word)) < 3]
        for part in difflib.get_close_matches(word, alike, MOST_NEAR, NEARER):
            found |= dict.fromkeys(sorted(named[part], key=len))
    return list(found)[:MOST_NEAR]


def near_hint(names: Sequence[str]) -> str:
    """Names that may be meant, in words; '' for none: 'Nearest: "leeks".'"""
    quoted = [f'"{name}"' for name in names]
    if len(quoted) < 2:
        return f"Nearest: {quoted[0]}." if quoted else ""
    return f"It may be {', '.join(quoted[:-1])} or {quoted[-1]}."


def once_called(names: Iterable[tuple[str, str]], now: Container[str]) -> dict[str, tuple[str, ...]]:
    """Earlier name, folded -> the ids that had it; a name that something has now is that thing's alone.

    Args:
        names: earlier name and the id of what had it.
        now: present names, folded.

    Example:
        >>> once_called([("Chops", "chop"), ("Pork", "chop"), ("pork", "belly"), ("Brill", "brill")], {"brill"})
        {'chops': ('chop',), 'pork': ('chop', 'belly')}
    """
    found: dict[str, dict[str, None]] = {}
    for name, key in names:
        if fold(name) not in now:
            found.setdefault(fold(name), {})[key] = None
    return {name: tuple(keys) for name, keys in found.items()}


def words_in(text: str) -> tuple[str, ...]:
    """The words of a text in their order, folded, each in the singular."""
    return tuple(singular(word) for word in re.findall(r"\w+", fold(text).replace("_", " ")))


@lru_cache(maxsize=65536)
def words_of(text: str) -> frozenset[str]:
    """The words of a text, folded, each in the singular.

    Example:
        >>> sorted(words_of("Anchovies, salted"))
        ['anchovy', 'salted']
    """
    return frozenset(words_in(text))


def singular(word: str) -> str:
    """An English noun without its plural ending; the same is done to both sides of every comparison.

    Example:
        >>> [singular(w) for w in ("nuts", "anchovies", "radishes", "olives", "asparagus", "couscous", "bass")]
        ['nut', 'anchovy', 'radish', 'olive', 'asparagus', 'couscous', 'bass']
    """
    if len(word) < 4 or word.endswith(("ss", "us", "is")) or not word.endswith("s"):
        return word
    if word.endswith("ies") and len(word) > 4:
        return word[:-3] + "y"
    return word[:-2] if word.endswith(ES) else word[:-1]
