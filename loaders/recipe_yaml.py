"""Recipes and settings in YAML. Scalars stay text: `NO`, `1:30` and `010` are what the cook typed; anchors are refused."""

from __future__ import annotations

from pathlib import Path

import yaml
from yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from stillroom.db.problems import Place, quoted
from stillroom.loaders.source import Row, Sheet, Source, Value, read_text, unknown_setting
from stillroom.loaders.tables import BY_NAME, SETTINGS

# Keys of a recipe that hold rows of other tables; a plain string fills the column named here.
NESTED = {
    "components": ("components", "line"),
    "method": ("method", "step"),
    "by products": ("by products", "item"),
    "cooking steps": ("cooking steps", "step"),
    "piece": ("pieces", "food"),
}


def read_settings(path: Path, source: Source) -> None:
    """kitchen.yaml: one mapping of settings."""
    for node in _documents(path, source):
        if not isinstance(node, MappingNode):
            source.problem("yaml-shape", _place(path, node), "is not a list of settings", "", "write one `name: value` a line")
            continue
        for key, value in node.value:
            name = str(key.value).replace("_", " ")
            if name not in SETTINGS:
                unknown_setting(name, _place(path, key), source)
            elif isinstance(value, ScalarNode):
                source.settings[name] = Value(value.value, _place(path, value))


def read_recipes(path: Path, source: Source) -> None:
    """One file of recipes: a mapping, several documents, or a list of mappings."""
    for node in _documents(path, source):
        for recipe in node.value if isinstance(node, SequenceNode) else [node]:
            if isinstance(recipe, MappingNode):
                _recipe(path, recipe, source)
            else:
                source.problem("yaml-shape", _place(path, recipe), "is not a recipe", "", "begin with `name: ...`")


def _documents(path: Path, source: Source) -> list[Node]:
    text = read_text(path, source)
    if text is None:
        return []
    try:
        for token in yaml.scan(text, Loader=yaml.SafeLoader):
            if isinstance(token, (yaml.AnchorToken, yaml.AliasToken)):
                mark = token.start_mark
                place = Place(str(path), mark.line + 1, mark.column + 1)
                source.problem("yaml-anchor", place, "anchors and aliases (& and *) are not read here", "", "write the value out")
                return []
        return [node for node in yaml.compose_all(text, Loader=yaml.SafeLoader) if node is not None]
    except yaml.MarkedYAMLError as error:
        at = error.problem_mark
        place = Place(str(path), at.line + 1, at.column + 1) if at else Place(str(path))
        source.problem("yaml-broken", place, f"can't be read as YAML: {error.problem}", "", "indent with spaces; quote a text that holds ': '")
    except yaml.YAMLError as error:
        source.problem("yaml-broken", Place(str(path)), f"can't be read as YAML: {quoted(str(error))}", "", "export the file again")
    return []


def _recipe(path: Path, node: MappingNode, source: Source) -> None:
    own: dict[str, tuple[str, Node]] = {}
    nested: list[tuple[str, Node]] = []
    columns = {column.name for column in BY_NAME["recipes"].columns}
    for key, value in node.value:
        name = str(key.value).replace("_", " ").lower()
        if name in NESTED:
            nested.append((name, value))
        elif name not in columns:
            source.problem("column-unknown", _place(path, key), f"a recipe has no {quoted(name)}", f"It has: {', '.join(sorted(columns | set(NESTED)))}.", "rename it or take it out")
        elif name in own:
            source.problem("column-twice", _place(path, key), f"{quoted(name)} stands twice", "", "keep one of them")
        else:
            own[name] = (_text(path, value, source), value)
    _add(source, path, "recipes", node, {name: text for name, (text, _) in own.items()})
    recipe = own["name"][0] if "name" in own else ""
    for name, value in nested:
        for child in value.value if isinstance(value, SequenceNode) else [value]:
            _nested(path, name, child, recipe, source)


def _nested(path: Path, key: str, node: Node, recipe: str, source: Source) -> None:
    table, first = NESTED[key]
    if isinstance(node, ScalarNode):
        _add(source, path, table, node, {"recipe": recipe, first: node.value})
    elif isinstance(node, MappingNode):
        known = {column.name for column in BY_NAME[table].columns}
        values = {"recipe": recipe}
        for name, value in node.value:
            plain = str(name.value).replace("_", " ").lower()
            if plain in known:
                values[plain] = _text(path, value, source)
            else:
                source.problem("column-unknown", _place(path, name), f"{key} have no {quoted(plain)}", f"They have: {', '.join(sorted(known))}.", "rename it or take it out")
        _add(source, path, table, node, values)
    else:
        source.problem("yaml-shape", _place(path, node), f"is not one of the {key}", "", "write one line with a dash before it")


def _add(source: Source, path: Path, table: str, node: Node, values: dict[str, str]) -> None:
    """A row at the end of the sheet that all YAML recipes of this table share."""
    columns = [column.name for column in BY_NAME[table].columns]
    sheets = source.sheets.setdefault(table, [])
    shared = next((s for s in sheets if s.path == "recipes"), None)
    if shared is None:
        shared = Sheet(BY_NAME[table], "recipes", columns, [])
        sheets.append(shared)
    mark = node.start_mark
    rows = shared.rows
    assert isinstance(rows, list)
    rows.append(Row(mark.line + 1, [values.get(c, "") for c in columns], str(path), mark.column + 1))


def _text(path: Path, node: Node, source: Source) -> str:
    if isinstance(node, ScalarNode):
        return str(node.value)
    if isinstance(node, SequenceNode) and all(isinstance(n, ScalarNode) for n in node.value):
        return "; ".join(n.value for n in node.value)
    source.problem("yaml-shape", _place(path, node), "is neither a text nor a list of texts", "", "write the value behind the colon")
    return ""


def _place(path: Path, node: Node) -> Place:
    return Place(str(path), node.start_mark.line + 1, node.start_mark.column + 1)
