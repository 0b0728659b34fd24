"""Names and the ids made from them. The only place that folds accents."""

from __future__ import annotations

import re
import unicodedata

# Letters that Unicode does not take apart into a plain letter and a mark.
PLAIN = str.maketrans(
    {"ø": "o", "Ø": "O", "ł": "l", "Ł": "L", "đ": "d", "ð": "d", "þ": "th", "ß": "ss", "ı": "i"}
    | {"æ": "ae", "Æ": "AE", "œ": "oe", "Œ": "OE"}
)


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
