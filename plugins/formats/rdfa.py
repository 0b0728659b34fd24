"""RDFa Lite of a saved page: what has a type, with its properties, as objects of the shape that JSON-LD has. Pure.

Source: RDFa Lite 1.1 (W3C Recommendation): vocab, typeof, property, resource, prefix. Which thing a property is of, and
what its value is: RDFa Core 1.1, 7.5 "Sequence", as far as these five attributes go, with href, src, content, and
datetime of HTML+RDFa 1.1; its initial context; from memory. Names of schema.org stand bare, all others with their whole
address. Addresses stand as they are written, since a saved page has lost its own.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from stillroom.plugins.formats.bounds import DEEPEST, Refused, refuse_depth
from stillroom.plugins.formats.elements import Element, Page
from stillroom.plugins.formats.marks import Marks

# Of the prefixes that need not be written: those of vocabularies that pages are marked with.
KNOWN = {
    "schema": "http://schema.org/", "foaf": "http://xmlns.com/foaf/0.1/", "og": "http://ogp.me/ns#",
    "dc": "http://purl.org/dc/terms/", "dcterms": "http://purl.org/dc/terms/", "v": "http://rdf.data-vocabulary.org/#",
}  # fmt: skip
SAYING = frozenset({"vocab", "prefix", "typeof", "property", "resource", "href", "src"})
OUTERMOST = frozenset({"html", "head", "body"})  # they speak of the page, unless they name another thing
SCHEMA_ORG = re.compile(r"https?://(?:www\.)?schema\.org/")
PAGE = ""  # the id of the page itself
_PREFIX = re.compile(r"(\S*?):\s+(\S+)")


@dataclass(frozen=True)
class Named:
    """A value that is another thing: its id."""

    id: str


@dataclass(frozen=True)
class Around:
    """What holds within an element. subject: the thing that is spoken of, by its id; end: one past its last element."""

    vocab: str
    prefixes: Mapping[str, str]
    subject: str
    end: int


class Linked(Marks):
    """The things of a page by their ids: types and properties of each. is_there: anything has a type."""

    def __init__(self, page: Page) -> None:
        super().__init__(page)
        self.types: dict[str, list[str]] = {}
        self.of: dict[str, dict[str, list[str | Named]]] = {}
        self.is_there = any("typeof" in element.attributes for element in self.elements)
        if self.is_there and not page.fault:
            self._walk()

    @property
    def all_types(self) -> list[str]:
        """Types of all things, in the order of the page."""
        return [kind for kinds in self.types.values() for kind in kinds]

    def items(self, is_wanted: Callable[[list[str]], bool]) -> list[dict[str, Any]]:
        """Things of the types wanted, in the order of the page; each an object, every property a list.

        Raises:
            Refused: the page, or the things in it, are too many or too deep one within another.
        """
        if self.page.fault:
            raise Refused(self.page.fault)
        return [self._item(key, ()) for key, types in self.types.items() if is_wanted(types)]

    def _item(self, key: str, within: tuple[str, ...]) -> dict[str, Any]:
        refuse_depth(len(within), DEEPEST)
        found: dict[str, Any] = {}
        for name, values in self.of.get(key, {}).items():
            found[name] = [value for one in values if (value := self._value(one, (*within, key))) is not None]
        found["@type"] = self.types.get(key, [])
        found["@id"] = "" if key.startswith("_:") else key
        return found

    def _value(self, value: str | Named, within: tuple[str, ...]) -> str | dict[str, Any] | None:
        """A value; a thing of which nothing is said is its address; None for one that would stand within itself."""
        self.look()
        if isinstance(value, str):
            return value
        if value.id in within:
            return None
        return self._item(value.id, within) if value.id in self.of or value.id in self.types else value.id

    def _walk(self) -> None:
        """Reads the elements in order, each within what holds around it."""
        around = [Around("", KNOWN, PAGE, len(self.elements))]
        for at, element in enumerate(self.elements):
            while around[-1].end <= at and len(around) > 1:
                around.pop()
            if element.attributes.keys() & SAYING:
                around.append(self._element(at, element, around[-1]))

    def _element(self, at: int, element: Element, around: Around) -> Around:
        """What holds within an element, once what it says is kept."""
        said, own = element.attributes, _own(element.attributes)
        here = replace(around, end=element.end, vocab=said.get("vocab", around.vocab).strip())
        if "prefix" in said:
            more = {name.lower(): address for name, address in _PREFIX.findall(said["prefix"])}
            here = replace(here, prefixes={**around.prefixes, **more})
        is_of_another = "property" in said and "content" not in said  # its address is a value, not what is spoken of
        made = own
        if made is None and "typeof" in said and (is_of_another or element.tag not in OUTERMOST):
            made = f"_:{at}"
        subject = around.subject if is_of_another or made is None else made
        inner = made if made is not None and (not is_of_another or "typeof" in said) else around.subject
        if "typeof" in said:
            types = self.types.setdefault(inner, [])
            types += [kind for kind in _addresses(said["typeof"], here) if kind not in types]
        for name in _addresses(said.get("property", ""), here):
            self.of.setdefault(subject, {}).setdefault(name, []).append(self._stated(at, element, made))
        return replace(here, subject=inner)

    def _stated(self, at: int, element: Element, made: str | None) -> str | Named:
        """The value of a property: what is written for machines, an address or the thing within, or the text."""
        said = element.attributes
        if "content" in said:
            return said["content"]
        if made is not None:
            return Named(made)
        return said["datetime"] if "datetime" in said else self.text(at)


def _own(said: Mapping[str, str]) -> str | None:
    """The address that an element names; None where it names none."""
    return next((said[name].strip() for name in ("resource", "href", "src") if name in said), None)


def _addresses(words: str, here: Around) -> list[str]:
    """Types or properties by their whole addresses, schema.org's bare; words of no vocabulary are passed over."""
    found = []
    for word in words.split():
        prefix, colon, rest = word.partition(":")
        if not colon:
            address = here.vocab + word if here.vocab else ""
        elif prefix.lower() in here.prefixes and not rest.startswith("//"):
            address = here.prefixes[prefix.lower()] + rest
        else:
            address = word
        found.append(SCHEMA_ORG.sub("", address))
    return list(dict.fromkeys(filter(None, found)))
