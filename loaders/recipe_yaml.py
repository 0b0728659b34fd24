"""Recipes and settings in YAML, turned into rows of the same tables that CSV files fill."""

from __future__ import annotations

from pathlib import Path

from stillroom.db.problems import Place, quoted
from stillroom.loaders.source import Mark, Row, Sheet, Source, listed, nearest, set_setting
from stillroom.loaders.tables import BY_NAME
from stillroom.loaders.yaml_nodes import documents, is_empty, pairs, place_of, text_of
from yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

SHARED = "recipes"  # path of the sheets that all YAML files fill together
# Keys of a recipe that hold rows of other tables, and the column that a plain text fills.
NESTED = {
    "components": ("components", "line"),
    "method": ("method", "step"),
    "by products": ("by products", "item"),
    "cooking steps": ("cooking steps", "step"),
    "piece": ("pieces", "food"),
}
Cells = dict[str, tuple[str, Mark]]


def read_settings(path: Path, source: Source) -> None:
    """kitchen.yaml: one mapping of settings."""
    for node in documents(path, source) or ():
        if not isinstance(node, MappingNode):
            source.problem(
                "yaml-shape",
                place_of(path, node),
                "is no list of settings",
                "",
                "write one `name: value` on a line",
            )
            continue
        for name, key, value in pairs(path, node, source):
            said = text_of(path, value, source)
            if said is not None:
                set_setting(name, place_of(path, key), said, source)


def read_recipes(path: Path, source: Source) -> None:
    """One file of recipes: a mapping, several documents, or a list of mappings."""
    found = documents(path, source)
    if found is None:
        source.partial.add("recipes")
    for node in found or ():
        for recipe in node.value if isinstance(node, SequenceNode) else [node]:
            if isinstance(recipe, MappingNode):
                _recipe(path, recipe, source)
            else:
                source.problem(
                    "yaml-shape",
                    place_of(path, recipe),
                    "is no recipe",
                    "",
                    "begin with `name: ...`, the other keys below it",
                )


def _recipe(path: Path, node: MappingNode, source: Source) -> None:
    own: Cells = {}
    nested: list[tuple[str, Node]] = []
    columns = [column.name for column in BY_NAME["recipes"].columns]
    for name, key, value in pairs(path, node, source):
        if name in NESTED:
            nested.append((name, value))
        elif name in columns:
            _put(own, name, path, value, source)
        else:
            _unknown_key(name, place_of(path, key), "a recipe has", [*columns, *NESTED], source)
    _add(source, path, "recipes", node, own)
    recipe = own.get("name", ("", _mark(node)))
    for name, value in nested:
        if not is_empty(value):
            for child in value.value if isinstance(value, SequenceNode) else [value]:
                _nested(path, name, child, recipe, source)


def _nested(path: Path, key: str, node: Node, recipe: tuple[str, Mark], source: Source) -> None:
    """One row of another table, written below its recipe."""
    table, first = NESTED[key]
    cells: Cells = {"recipe": recipe}
    if isinstance(node, ScalarNode):
        cells[first] = (node.value, _mark(node))
    elif isinstance(node, MappingNode):
        known = [column.name for column in BY_NAME[table].columns if column.name != "recipe"]
        for name, at, value in pairs(path, node, source):
            if name in known:
                _put(cells, name, path, value, source)
            else:
                _unknown_key(name, place_of(path, at), f"{quoted(key)} has", known, source)
    else:
        source.problem(
            "yaml-shape",
            place_of(path, node),
            f"is none of the {key}",
            "",
            "write each on a line of its own, behind one dash",
        )
        source.partial.add(table)
        return
    _add(source, path, table, node, cells)


def _put(cells: Cells, name: str, path: Path, node: Node, source: Source) -> None:
    said = text_of(path, node, source)
    if said is not None:
        cells[name] = (said.text, _mark(node))


def _unknown_key(name: str, place: Place, who: str, known: list[str], source: Source) -> None:
    hint = nearest(name, known) or listed("Known here", known)
    fix = "rename it or take it out; put a text that holds ': ' in quotation marks"
    source.problem("column-unknown", place, f"{who} no {quoted(name)}", hint, fix)


def _add(source: Source, path: Path, table: str, node: Node, cells: Cells) -> None:
    """A row at the end of the sheet that all YAML recipes of this table share."""
    columns = [column.name for column in BY_NAME[table].columns]
    sheets = source.sheets.setdefault(table, [])
    shared = next((s for s in sheets if s.path == SHARED), None)
    if shared is None:
        shared = Sheet(BY_NAME[table], SHARED, columns, [])
        sheets.append(shared)
    line, column = _mark(node)
    values = [cells[c][0] if c in cells else "" for c in columns]
    assert isinstance(shared.rows, list)
    shared.rows.append(
        Row(line, values, str(path), column, {name: mark for name, (_, mark) in cells.items()})
    )


def _mark(node: Node) -> Mark:
    return node.start_mark.line + 1, node.start_mark.column + 1
