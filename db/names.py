"""Names and the ids made from them. The only place that folds accents."""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Container, Iterable

# Letters that Unicode does not take apart into a plain letter and a mark.
PLAIN = str.maketrans(
    {"ø": "o", "Ø": "O", "ł": "l", "Ł": "L", "đ": "d", "ð": "d", "þ": "th", "ß": "ss", "ı": "i"}
    | {"æ": "ae", "Æ": "AE", "œ": "oe", "Œ": "OE"}
)

NEAR = 0.7  # how like two names must be for one to be offered in the other's place
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


def nearest(name: str, folded: Iterable[str]) -> str:
    """The folded name that is most like a name; '' where none is like enough.

    Example:
        >>> nearest("Buter", ["butter", "leeks"]), nearest("Beef", ["butter", "leeks"])
        ('butter', '')
    """
    return next(iter(difflib.get_close_matches(fold(name), folded, 1, NEAR)), "")


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
