"""Microdata of a saved page: items with their properties, as objects of the shape that JSON-LD has. Pure.

Source: HTML Standard (WHATWG), section 5 "Microdata": names, values, and which property is whose; read as W3C's HTML
Microdata prints it, 5.3 to 5.5. Beside it: a text's white space is made single, and each block within it stands on a
line of its own; addresses stand as they are written, since a saved page has lost its own.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from stillroom.plugins.formats.bounds import DEEPEST, Refused, refuse_depth
from stillroom.plugins.formats.elements import Page
from stillroom.plugins.formats.marks import Marks

VALUE_IN = {
    "meta": "content", "data": "value", "meter": "value", "object": "data",
    **dict.fromkeys(("audio", "embed", "iframe", "img", "source", "track", "video"), "src"),
    **dict.fromkeys(("a", "area", "link"), "href"),
}  # fmt: skip


class Marked(Marks):
    """The items of a page. at: the elements that make them."""

    def __init__(self, page: Page) -> None:
        super().__init__(page)
        self.at = [n for n, element in enumerate(self.elements) if "itemscope" in element.attributes]
        self._ids: dict[str, int] = {}
        for n, element in enumerate(self.elements):
            self._ids.setdefault(element.attributes.get("id", ""), n)

    @property
    def is_there(self) -> bool:
        """Whether there are any."""
        return bool(self.at)

    def types(self, at: int) -> list[str]:
        """Types of the item that an element makes."""
        return self.elements[at].attributes.get("itemtype", "").split()

    @property
    def all_types(self) -> list[str]:
        """Types of all items, in the order of the page."""
        return [kind for at in self.at for kind in self.types(at)]

    def items(self, is_wanted: Callable[[list[str]], bool]) -> list[dict[str, Any]]:
        """Items of the types wanted, wherever they stand, in the order of the page.

        Each is an object: '@type' a list, '@id' where it has one, and every property a list of texts and items.

        Raises:
            Refused: the page, or the items in it, are too many or too deep one within another.
        """
        if self.page.fault:
            raise Refused(self.page.fault)
        return [self._item(at, ()) for at in self.at if is_wanted(self.types(at))]

    def _item(self, at: int, within: tuple[int, ...]) -> dict[str, Any]:
        refuse_depth(len(within), DEEPEST)
        found: dict[str, Any] = {}
        for n in self._properties(at):
            value = self._value(n, (*within, at))
            for name in dict.fromkeys(self.elements[n].attributes["itemprop"].split()):
                if value is not None:
                    found.setdefault(name, []).append(value)
        found["@type"] = self.types(at)
        found["@id"] = self.elements[at].attributes.get("itemid", "").strip()
        return found

    def _properties(self, root: int) -> list[int]:
        """Elements that are properties of an item, in the order of the page: its own, and those it refers to."""
        named = self.elements[root].attributes.get("itemref", "").split()
        begin = [root + 1, *(self._ids[name] for name in named if name in self._ids)]
        ends = [self.elements[root].end, *(self.elements[at].end for at in begin[1:])]
        found, seen = [], {root}
        for first, end in zip(begin, ends, strict=True):
            at = first
            while at < end:
                self.look()
                element, is_new = self.elements[at], at not in seen
                seen.add(at)
                if is_new and element.attributes.get("itemprop", "").strip():
                    found.append(at)
                at = at + 1 if is_new and "itemscope" not in element.attributes else element.end
        return sorted(found)

    def _value(self, at: int, within: tuple[int, ...]) -> str | dict[str, Any] | None:
        """A property's value; None for an item that would stand within itself."""
        element = self.elements[at]
        if "itemscope" in element.attributes:
            return None if at in within else self._item(at, within)
        if element.tag in VALUE_IN:
            return element.attributes.get(VALUE_IN[element.tag], "")
        if element.tag == "time" and "datetime" in element.attributes:
            return element.attributes["datetime"]
        return self.text(at)
