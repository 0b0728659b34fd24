"""A schema.org Recipe out of a saved page or a JSON file. Pure, and suspicious: anybody may have written it.

It is looked for as JSON-LD, in a file or in a page's scripts, and where there is none, as microdata in the page itself,
then as RDFa.
What is found is text and nothing but text. A file that is too large, too deep or no JSON is refused in words.
Source: schema.org, type Recipe; JSON-LD 1.1 for @graph and @type; `microdata`, `rdfa` name their own. Bounds: `bounds`.
"""

from __future__ import annotations

import html
import json
import re
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Any

from stillroom.plugins.formats.bounds import DEEPEST, MOST_CHARACTERS, MOST_NODES, TOO_MUCH, Refused, refuse_depth
from stillroom.plugins.formats.elements import Page
from stillroom.plugins.formats.microdata import Marked
from stillroom.plugins.formats.rdfa import Linked

MOST_RECIPES = 20
MOST_LINES = 500
MOST_READ = 5000  # lines or steps that are looked at, to say how many there are
LONGEST = 1000
MOST_NAMED = 6  # types that are named to say what a file holds
TYPE_IN_BY_HAND = "Type the recipe in, or paste its lines."
_TAG = re.compile(r"<[^<>]{0,2000}>")
_TEXT = re.compile(r'"(?:[^"\\]|\\.)*"', re.S)
_MARK = re.compile(r"[][{}]")
_SERVES = re.compile(r"[^0-9]{0,40}([0-9]{1,4})\s*(?:servings?|portions?|people|persons?|plates?|covers?)?\.?\s*", re.I)


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
        Refused: there is none, or the file is not to be read; the words say what was looked for and what there is.
    """
    if len(text) > MOST_CHARACTERS:
        raise Refused("The file is larger than a page with a recipe is. Save the page alone, without its pictures.")
    bare = text.lstrip("\ufeff \t\r\n")
    page = None if bare.startswith(("{", "[")) else Page(bare)
    there: list[str] = []
    nodes, problems = _in_blocks(page.blocks if page else [bare], there)
    for way in MARKS:
        if page and not nodes:
            nodes = _in_marks(way, page, there, problems)
    if not nodes:
        raise Refused(problems[0] if problems else _none(there))
    return [_recipe(node) for node in nodes[:MOST_RECIPES]]


def _in_blocks(blocks: Sequence[str], there: list[str]) -> tuple[list[dict[str, Any]], list[str]]:
    """Recipes in blocks of JSON-LD, and why a block could not be read; what else is there is added to `there`."""
    found, problems, types = [], [], []
    for block in filter(str.strip, blocks):
        try:
            nodes = list(_nodes(_json(block)))
            found += [node for node in nodes if _is_recipe(node)]
            types += [kind for node in nodes for kind in _types(node)]
        except Refused as error:
            problems.append(str(error))
    if blocks:
        there.append(f"JSON-LD {_of(types)}")
    return found, problems


def _in_marks(way: Way, page: Page, there: list[str], problems: list[str]) -> list[dict[str, Any]]:
    """Recipes in the marks of a page; what else is there goes to `there`, why it can't be read to `problems`."""
    what, reader, is_recipes = way
    try:
        marked = reader(page)
        found = marked.items(lambda types: any(map(is_recipes, types)))
    except Refused as error:
        problems.append(str(error))
        return []
    if marked.is_there:
        there.append(f"{what} {_of(marked.all_types)}")
    return found


def _of(types: Iterable[str]) -> str:
    """'of WebSite, Person', each type once, the first few."""
    kinds = list(dict.fromkeys(map(_last, types)))
    named = [name for kind in kinds[:MOST_NAMED] if (name := plain(kind)[:40])]
    more = f" and {len(kinds) - MOST_NAMED} more" if len(kinds) > MOST_NAMED else ""
    return f"of {', '.join(named)}{more}" if named else "without a type"


def _none(there: Sequence[str]) -> str:
    """What was looked for, and what there is instead."""
    if not there:
        looked = "neither as data in a script (JSON-LD) nor as marks in its text (microdata, RDFa)"
        return f"There is no recipe in it that says so in the words of schema.org, {looked}. {TYPE_IN_BY_HAND}"
    looked = "Looked for: a Recipe of schema.org, as JSON-LD, microdata or RDFa."
    return f"It holds data, and no recipe among it. {looked} Found: {'; '.join(there)}. {TYPE_IN_BY_HAND}"


def _json(text: str) -> Any:
    """A block as data; nesting is counted before anything is built."""
    depth = deepest = 0
    for mark in _MARK.findall(_TEXT.sub("", text)):
        depth += 1 if mark in "[{" else -1
        deepest = max(deepest, depth)
    refuse_depth(deepest, DEEPEST)
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
            raise Refused(TOO_MUCH)
        if isinstance(node, dict):
            yield node
            todo.extend(value for value in node.values() if isinstance(value, dict | list))
        elif isinstance(node, list):
            todo.extend(value for value in node if isinstance(value, dict | list))


def _types(node: dict[str, Any]) -> list[str]:
    kinds = node.get("@type")
    return [kind for kind in (kinds if isinstance(kinds, list) else [kinds]) if isinstance(kind, str)]


def _last(kind: str) -> str:
    """A type without the address of its vocabulary."""
    return re.split(r"[/:#]", kind)[-1]


def _is_recipes(kind: str) -> bool:
    return _last(kind) == "Recipe"


Way = tuple[str, type[Marked] | type[Linked], Callable[[str], bool]]
# In RDFa a type of another vocabulary has its whole address, and its properties have too: none of them would be read.
MARKS: tuple[Way, ...] = (("microdata", Marked, _is_recipes), ("RDFa", Linked, "Recipe".__eq__))


def _is_recipe(node: dict[str, Any]) -> bool:
    return any(map(_is_recipes, _types(node)))


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
    said = [_measured(row) if isinstance(row, dict) else plain(row) for row in rows[:MOST_READ]]
    return [line for line in said if line]


def _measured(row: dict[str, Any]) -> str:
    """A line that is an object: a PropertyValue's quantity, unit and name, or what it is called."""
    parts = (row.get("value"), row.get("unitText") or row.get("unitCode"), row.get("name") or row.get("text"))
    return " ".join(filter(None, map(_first, parts)))


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
            name, text = _first(node.get("name")), _first(node.get("text"))
            if inner:
                if name:
                    yield f"{name}:"
                todo.appendleft(inner)
            elif text or name:
                yield text or name
