"""A saved page as its elements in order, each with its text, and its JSON-LD: as much of HTML as is asked here. Pure.

End tags may be left out, or close nothing. Source: HTML Standard (WHATWG), 13.1.2.4 "Optional tags" and
13.2.6.4.7, insertion mode "in body", what decides which element a text stands in; from memory.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from stillroom.plugins.formats.bounds import DEEPEST_PAGE, MOST_NODES, TOO_DEEP, TOO_MUCH
from stillroom.plugins.formats.tags import Tags


def _tags(names: str) -> frozenset[str]:
    return frozenset(names.split())


VOID = _tags("area base br col embed hr img input link meta param source track wbr")
# Elements that stand on lines of their own, close an open paragraph, and are not closed by the end of a span within.
BLOCKS = _tags(
    "address article aside blockquote body caption center dd details dialog dir div dl dt fieldset figcaption figure"
    " footer form h1 h2 h3 h4 h5 h6 head header hgroup hr html legend li main menu nav ol optgroup option p pre search"
    " section select summary table tbody td tfoot th thead title tr ul"
)
TABLE = _tags("caption table tbody td tfoot th thead tr")
WALLS = _tags("caption html table td template th")  # no end tag of a block reaches past them
PASSED = frozenset({"address", "div", "p"})
# What the start of an element closes: which ones, and where the look for them ends.
CLOSES: dict[str, tuple[frozenset[str], frozenset[str]]] = {
    "li": (frozenset({"li"}), BLOCKS - PASSED), "dt": (frozenset({"dt", "dd"}), BLOCKS - PASSED),
    "dd": (frozenset({"dt", "dd"}), BLOCKS - PASSED), "td": (frozenset({"td", "th"}), frozenset({"table"})),
    "th": (frozenset({"td", "th"}), frozenset({"table"})), "tr": (frozenset({"tr"}), frozenset({"table"})),
    "tbody": (frozenset({"thead", "tbody"}), frozenset({"table"})),
    "tfoot": (frozenset({"thead", "tbody"}), frozenset({"table"})),
    "option": (frozenset({"option"}), frozenset({"select"})),
}  # fmt: skip
UNSEEN = frozenset({"script", "style", "template"})  # what stands in them is no text of the page
FOREIGN = frozenset({"svg", "math"})
_SPACE = re.compile(r"\s+")


@dataclass
class Element:
    """One element. first, last: its texts are pieces[first:last]; end: one past the last element within it."""

    tag: str
    attributes: dict[str, str]
    first: int
    last: int = 0
    end: int = 0


class Page(Tags):
    """A page that was read.

    Attributes:
        elements: in the order of the page.
        pieces: of its text; a block or <br> is a line break.
        fault: why its elements are not all there, in words; '' where they are.
    """

    def __init__(self, text: str) -> None:
        super().__init__()
        self.elements: list[Element] = []
        self.pieces: list[str] = []
        self._scripts: list[list[str]] = []
        self.fault = ""
        self._open: list[int] = []
        self._depths: dict[str, list[int]] = {}
        self._is_data = False
        self._unseen = 0
        self._foreign = 0
        self.feed(text)
        self.close()
        self._pop(len(self._open))

    @property
    def blocks(self) -> list[str]:
        """Text of each script that holds JSON-LD."""
        return ["".join(script) for script in self._scripts]

    def text(self, at: int, most: int) -> str:
        """The text of an element, at most so many characters: white space single, each block on lines of its own."""
        element, found, length = self.elements[at], [], 0
        for n in range(element.first, element.last):
            found.append(self.pieces[n])
            length += len(self.pieces[n])
            if length >= most:
                break
        return "".join(found)[:most]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        kind = next((value or "" for name, value in attrs if name == "type"), "")
        self._is_data = tag == "script" and kind.split(";")[0].strip().lower() == "application/ld+json"
        if self._is_data:
            self._scripts.append([])
        if self._unseen:
            self._unseen += tag in UNSEEN
        elif not self.fault:
            self._begin(tag, attrs)

    def _begin(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """An element of the page itself."""
        if self._foreign and tag in BLOCKS and tag != "title":
            self._pop(len(self._open) - min(self._depths[other][0] for other in FOREIGN if self._depths.get(other)))
        if not self._foreign:
            self._close_before(tag)
        if tag in BLOCKS or tag == "br":
            self.pieces.append("\n")
        own = {} if self._foreign or tag in FOREIGN else {name: value or "" for name, value in reversed(attrs)}
        self._depths.setdefault(tag, []).append(len(self._open))
        self._open.append(len(self.elements))
        self.elements.append(Element(tag, own, len(self.pieces)))
        if len(self._open) > DEEPEST_PAGE:
            self.fault = TOO_DEEP.format(len(self._open))
        self._unseen += tag in UNSEEN
        self._foreign += tag in FOREIGN
        if tag in VOID:
            self._pop(1)
        if len(self.elements) > MOST_NODES:
            self.fault = TOO_MUCH

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if self._foreign:
            self.handle_endtag(tag)

    def handle_endtag(self, tag: str) -> None:
        self._is_data = False
        if self._unseen:
            self._unseen -= tag in UNSEEN
            if self._unseen:
                return
        reach = WALLS if tag in BLOCKS or tag in FOREIGN else BLOCKS
        self._close(frozenset({tag}), frozenset({"table"}) - {tag} if tag in TABLE else reach)

    def handle_data(self, data: str) -> None:
        if self._is_data:
            self._scripts[-1].append(data)
        elif not self._unseen and not self.fault:
            self.pieces.append(_SPACE.sub(" ", data))
            if len(self.pieces) > MOST_NODES:
                self.fault = TOO_MUCH

    def _close_before(self, tag: str) -> None:
        """Closes what the start of this element closes."""
        if tag in BLOCKS and tag not in TABLE:
            self._close(frozenset({"p"}), WALLS | {"button"})
        if tag in CLOSES:
            self._close(*CLOSES[tag])

    def _close(self, tags: frozenset[str], walls: frozenset[str]) -> None:
        """Closes the innermost open element of these, with all within it; nothing where a wall stands before it."""
        at = self._innermost(tags)
        if at >= 0 and at >= self._innermost(walls):
            self._pop(len(self._open) - at)

    def _innermost(self, tags: frozenset[str]) -> int:
        """How deep the innermost open element of these stands; -1 where none is open."""
        return max((self._depths[tag][-1] for tag in tags if self._depths.get(tag)), default=-1)

    def _pop(self, count: int) -> None:
        for _ in range(count):
            element = self.elements[self._open.pop()]
            self._depths[element.tag].pop()
            element.last, element.end = len(self.pieces), len(self.elements)
            self._foreign -= element.tag in FOREIGN
            if element.tag in BLOCKS:
                self.pieces.append("\n")
