"""How much is read of a file that anybody may have written. Common practice, no source."""

from __future__ import annotations

MOST_CHARACTERS = 4_000_000
DEEPEST = 64  # objects or items, one within another
DEEPEST_PAGE = 512  # elements, one within another; a browser stops there too (from memory)
MOST_NODES = 200_000
TOO_MUCH = "It holds more data than a page with a recipe does. Save the recipe's own page."
TOO_DEEP = "It is nested {} deep: no recipe is. Save it from its own page again."


class Refused(ValueError):
    """A file that can't be read; the words say why and what to do."""


def refuse_depth(depth: int, most: int) -> None:
    """Refuses what is nested deeper than `most`.

    Raises:
        Refused: it is.
    """
    if depth > most:
        raise Refused(TOO_DEEP.format(depth))
