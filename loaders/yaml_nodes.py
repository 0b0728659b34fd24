"""YAML as nodes with places. Scalars stay text: `NO`, `1:30` and `010` are what the cook typed.

Anchors, tags and deep nesting are refused while the file is only a stream of events, before anything is built from it.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import yaml
from stillroom.db.problems import Place, quoted
from stillroom.loaders.source import Source, Value, plain_name
from stillroom.loaders.text_files import read_text
from yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
DEEPEST = 10


def documents(path: Path, source: Source) -> list[Node] | None:
    """The file's documents; None and a problem where it can't be read."""
    text = read_text(path, source)
    if text is None:
        return None
    try:
        if _refused(path, text, source):
            return None
        return [
            node for node in yaml.compose_all(text, Loader=LOADER) if node is not None and not is_empty(node)
        ]
    except yaml.MarkedYAMLError as error:
        at = error.problem_mark or error.context_mark
        place = Place(str(path), at.line + 1, at.column + 1) if at else Place(str(path))
        source.problem(
            "yaml-broken", place, f"can't be read as YAML: {error.problem or error.context}", "",
            "indent with spaces only; put a text that holds ': ' or begins with a mark in quotation marks",
        )  # fmt: skip
    except yaml.reader.ReaderError as error:
        line = text[: error.position].count("\n") + 1
        letter = text[error.position : error.position + 1]
        what = f"holds a control character, U+{ord(letter):04X}" if letter else "breaks off"
        source.problem("yaml-broken", Place(str(path), line=line), what, "", "type the line again")
    return None


def _refused(path: Path, text: str, source: Source) -> bool:
    """Whether the file uses what is not read here; told at its first place."""
    depth = 0
    for event in yaml.parse(text, Loader=LOADER):
        depth += isinstance(event, yaml.CollectionStartEvent) - isinstance(event, yaml.CollectionEndEvent)
        mark: Any = event.start_mark
        place = Place(str(path), mark.line + 1, mark.column + 1)
        if isinstance(event, yaml.AliasEvent) or getattr(event, "anchor", None):
            source.problem(
                "yaml-anchor", place, "anchors and aliases (& and *) are not read here", "",
                "write the value out; put a text that begins with & or * in quotation marks",
            )  # fmt: skip
        elif getattr(event, "tag", None):
            source.problem(
                "yaml-tag",
                place,
                "tags (!) are not read here",
                "",
                "put a text that begins with ! in quotation marks",
            )
        elif depth > DEEPEST:
            source.problem(
                "yaml-deep",
                place,
                f"lists stand in lists more than {DEEPEST} deep",
                "",
                "write the recipe flat, as the examples are",
            )
        else:
            continue
        return True
    return False


def is_empty(node: Node) -> bool:
    """Whether nothing stands there: a file of remarks, or a key without a value."""
    return isinstance(node, ScalarNode) and node.value == "" and not node.style


def place_of(path: Path, node: Node) -> Place:
    """Where a node begins, from 1."""
    return Place(str(path), node.start_mark.line + 1, node.start_mark.column + 1)


def pairs(path: Path, node: MappingNode, source: Source) -> Iterator[tuple[str, Node, Node]]:
    """Names, keys and values of a mapping; a key that is no text, and one that stands twice, are problems."""
    seen: dict[str, Node] = {}
    for key, value in node.value:
        if not isinstance(key, ScalarNode):
            source.problem("yaml-shape", place_of(path, key), "is no name", "", "write `name: value`")
            continue
        name = plain_name(key.value)
        first = seen.setdefault(name, key)
        if first is key:
            yield name, key, value
        else:
            source.problem(
                "key-twice",
                place_of(path, key),
                f"{quoted(name)} stands twice",
                f"First at {place_of(path, first)}.",
                "keep one of them",
            )


def text_of(path: Path, node: Node, source: Source) -> Value | None:
    """A text, or a list of texts as one text parted by ;."""
    if isinstance(node, ScalarNode):
        return Value(str(node.value), place_of(path, node))
    if isinstance(node, SequenceNode) and all(isinstance(n, ScalarNode) for n in node.value):
        return Value("; ".join(n.value for n in node.value), place_of(path, node))
    source.problem(
        "yaml-shape",
        place_of(path, node),
        "is neither a text nor a list of texts",
        "",
        "write one value behind the colon",
    )
    return None
