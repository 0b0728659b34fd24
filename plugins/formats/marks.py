"""Marks in the text of a saved page, and how much of them is looked at: what microdata and RDFa have in common."""

from __future__ import annotations

from collections.abc import Sequence

from stillroom.plugins.formats.bounds import MOST_CHARACTERS, MOST_NODES, TOO_MUCH, Refused
from stillroom.plugins.formats.elements import Element, Page

LONGEST_VALUE = 40_000  # characters of one value's text
MOST_SAID = 2 * MOST_CHARACTERS  # of all of them: one may stand within another


class Marks:
    """The elements of a page, read within bounds."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.elements: Sequence[Element] = page.elements
        self._looked_at = self._said = 0

    def look(self) -> None:
        """Counts one thing looked at.

        Raises:
            Refused: it is one too many.
        """
        self._looked_at += 1
        if self._looked_at > MOST_NODES:
            raise Refused(TOO_MUCH)

    def text(self, at: int) -> str:
        """The text of an element.

        Raises:
            Refused: the texts together are too long.
        """
        text = self.page.text(at, LONGEST_VALUE)
        self._said += len(text)
        if self._said > MOST_SAID:
            raise Refused(TOO_MUCH)
        return text
