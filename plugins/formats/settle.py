"""A line that can't be read as it stands, and what it may have meant: offered to a person, never taken. Pure."""

from __future__ import annotations

import re

from stillroom.db.names import fold
from stillroom.db.quantity import ReadError
from stillroom.db.recipe_lines import Names

_ASIDE = re.compile(r"\([^()]{0,200}\)|\[[^\[\]]{0,200}\]")


def perhaps(text: str, names: Names) -> str:
    """The line as the kitchen would write it, where one item or recipe alone can be meant; '' where none can.

    A thing can be meant whose every word stands in the line: 'large eggs' may be egg, 'unsalted butter' never
    'butter, salted'. Of several, the one with most words; two alike are nobody's.
    """
    bare = " ".join(_ASIDE.sub(" ", text).split())
    try:
        said = names.parts(bare)
    except ReadError:
        return ""
    name, _, rest = said.name.partition(",")
    words = _words(name)
    fits = [(len(own), thing) for thing in names.by_name.values() if (own := _words(thing.name)) and own <= words]
    most = max((n for n, _ in fits), default=0)
    best = [thing for n, thing in fits if n == most]
    if len(best) != 1:
        return ""
    more = " ".join(w for w in name.split() if not _words(w) <= _words(best[0].name))
    prep = ", ".join(filter(None, (more, rest.strip())))
    line = f"{said.number_text} {said.unit_text or 'ea'} {best[0].name}" + (f", {prep}" if prep else "")
    try:
        return line if names.read(line).thing is best[0] else ""
    except ReadError:
        return ""


def _words(text: str) -> frozenset[str]:
    """Folded words, a plural as its singular."""
    found = re.findall(r"[a-z0-9]+", fold(text))
    return frozenset(w[:-1] if len(w) > 3 and w.endswith("s") and not w.endswith("ss") else w for w in found)
