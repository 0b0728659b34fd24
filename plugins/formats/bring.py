"""A schema.org Recipe out of a saved page or a JSON file. Pure, and suspicious: anybody may have written it.

What is found is text and nothing but text. A file that is too large, too deep or no JSON is refused in words.
Source: schema.org, type Recipe; JSON-LD 1.1 for @graph and @type. Bounds: common practice, no source.
"""

from __future__ import annotations

import html
import json
import re
from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from html.parser import HTMLParser
from itertools import islice
from typing import Any

MOST_CHARACTERS = 4_000_000
DEEPEST = 64
MOST_NODES = 200_000
MOST_RECIPES = 20
MOST_LINES = 500
MOST_READ = 5000  # lines or steps that are looked at, to say how many there are
LONGEST = 1000
_TAG = re.compile(r"<[^<>]{0,2000}>")
_TEXT = re.compile(r'"(?:[^"\\]|\\.)*"', re.S)
_MARK = re.compile(r"[][{}]")
_SERVES = re.compile(r"[^0-9]{0,40}([0-9]{1,4})\s*(?:servings?|portions?|people|persons?|plates?|covers?)?\.?\s*", re.I)


class Refused(ValueError):
    """A file that can't be read; the words say why and what to do."""


@dataclass(frozen=True)
class Found:
    """One recipe as it was written, in plain text. cut: what was left out for being too much, in words."""

    name: str
    made: str
    section: str
    lines: tuple[str, ...]
    steps: tuple[str, ...]
    source: str
    cut: tuple[str, ...] = ()


def recipes_of(text: str) -> list[Found]:
    """Every recipe in a saved page or JSON file.

    Raises:
        Refused: there is none, or the file is not to be read.
    """
    if len(text) > MOST_CHARACTERS:
        raise Refused("The file is larger than a page with a recipe is. Save the page alone, without its pictures.")
    bare = text.lstrip("\ufeff \t\r\n")
    blocks = [bare] if bare.startswith(("{", "[")) else _blocks(bare)
    if not blocks:
        raise Refused(
            "There is no recipe in it that says so in the words of schema.org. Type the recipe in, or paste its lines."
        )
    found, problems = [], []
    for block in blocks:
        try:
            found += [_recipe(node) for node in _nodes(_json(block)) if _is_recipe(node)]
        except Refused as error:
            problems.append(str(error))
    if not found:
        raise Refused(problems[0] if problems else "It holds data, and no recipe among it. Type the recipe in.")
    return found[:MOST_RECIPES]


class _Scripts(HTMLParser):
    """Collects the text of every script element that holds JSON-LD."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.blocks: list[str] = []
        self._open: list[str] | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        kind = next((value or "" for name, value in attrs if name == "type"), "")
        if tag == "script" and kind.split(";")[0].strip().lower() == "application/ld+json":
            self._open = []

    def handle_data(self, data: str) -> None:
        if self._open is not None:
            self._open.append(data)

    def handle_endtag(self, tag: str) -> None:
        if tag == "script" and self._open is not None:
            self.blocks.append("".join(self._open))
            self._open = None


def _blocks(text: str) -> list[str]:
    parser = _Scripts()
    parser.feed(text)
    parser.close()
    return [block for block in parser.blocks if block.strip()]


def _json(text: str) -> Any:
    """A block as data; nesting is counted before anything is built."""
    depth = deepest = 0
    for mark in _MARK.findall(_TEXT.sub("", text)):
        depth += 1 if mark in "[{" else -1
        deepest = max(deepest, depth)
    if deepest > DEEPEST:
        raise Refused(f"It is nested {deepest} deep: no recipe is. Save it from its own page again.")
    try:
        return json.loads(text, strict=False)
    except (ValueError, RecursionError):
        raise Refused("Its data is broken off or no JSON. Save the page again, whole.") from None


def _nodes(data: Any) -> Iterator[dict[str, Any]]:
    """Every object in the data, outer before inner, wherever it stands: in a list, under @graph, in another."""
    todo, seen = deque([data]), 0
    while todo:
        node = todo.popleft()
        seen += 1
        if seen > MOST_NODES:
            raise Refused("It holds more data than a page with a recipe does. Save the recipe's own page.")
        if isinstance(node, dict):
            yield node
            todo.extend(value for value in node.values() if isinstance(value, dict | list))
        elif isinstance(node, list):
            todo.extend(value for value in node if isinstance(value, dict | list))


def _is_recipe(node: dict[str, Any]) -> bool:
    kinds = node.get("@type")
    kinds = kinds if isinstance(kinds, list) else [kinds]
    return any(isinstance(kind, str) and re.split(r"[/:#]", kind)[-1] == "Recipe" for kind in kinds)


def _recipe(node: dict[str, Any]) -> Found:
    cut: list[str] = []
    lines = _most(_lines(node.get("recipeIngredient") or node.get("ingredients")), "lines", cut)
    steps = _most(list(islice(_steps(node.get("recipeInstructions")), MOST_READ)), "steps", cut)
    return Found(
        _first(node.get("name") or node.get("headline"))[:200], made_of(_yields(node.get("recipeYield"))),
        _first(node.get("recipeCategory"))[:100], lines, steps, _first(node.get("url") or node.get("@id"))[:300],
        tuple(cut),
    )  # fmt: skip


def _most(found: list[str], what: str, cut: list[str]) -> tuple[str, ...]:
    if len(found) > MOST_LINES:
        cut.append(f"{len(found):,} {what}, of which the first {MOST_LINES} were read")
    return tuple(found[:MOST_LINES])


def plain(value: Any) -> str:
    """Text without tags, entities, marks that can't be seen or line breaks; '' for what is no text."""
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        return ""
    text = str(value)[: LONGEST * 4]
    for _ in range(2):  # '&lt;b&gt;' is a tag as well
        text = _TAG.sub(" ", html.unescape(text))
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())[:LONGEST]


def _first(value: Any) -> str:
    """The first text of a value that may be one, a list of them, or an object with a name."""
    for one in value if isinstance(value, list) else [value]:
        said = plain(one.get("name") or one.get("@id")) if isinstance(one, dict) else plain(one)
        if said:
            return said
    return ""


def _yields(value: Any) -> str:
    """Of several ways to say it, the one with words."""
    said = [plain(one) for one in (value if isinstance(value, list) else [value])]
    return next((s for s in said if re.search(r"[^\W\d]", s)), next((s for s in said if s), ""))[:60]


def made_of(text: str) -> str:
    """'Serves 4', '4 servings' and '4' are 4 plates; any other yield stands as it was written."""
    found = _SERVES.fullmatch(text)
    has_word = bool(re.search(r"serv|portion|people|person|plate|cover", text, re.I))
    return f"{int(found.group(1))} plates" if found and (has_word or text.strip().isdigit()) else text


def _lines(value: Any) -> list[str]:
    """Ingredient lines: a list of texts, or one text with a line for each."""
    rows = value if isinstance(value, list) else str(value).splitlines() if isinstance(value, str) else []
    rows = rows[:MOST_READ]
    said = [plain(row.get("name") or row.get("text")) if isinstance(row, dict) else plain(row) for row in rows]
    return [line for line in said if line]


def _steps(value: Any) -> Iterator[str]:
    """Steps in order: texts, HowToStep, HowToSection and lists of them, one within another."""
    todo = deque([value])
    while todo:
        node = todo.popleft()
        if isinstance(node, list):
            todo.extendleft(reversed(node))
        elif isinstance(node, str):
            yield from filter(None, (plain(row) for row in re.split(r"\n|<br\s*/?>|</(?:li|p)>", node[: LONGEST * 40])))
        elif isinstance(node, dict):
            inner = node.get("itemListElement") or node.get("steps")
            name, text = plain(node.get("name")), plain(node.get("text"))
            if inner:
                if name:
                    yield f"{name}:"
                todo.appendleft(inner)
            elif text or name:
                yield text or name
