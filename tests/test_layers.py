"""Who may import whom, walked over the whole tree."""

from __future__ import annotations

import ast
from pathlib import Path

ROOT = Path(__file__).parents[1]
WEB = {"datasette", "jinja2", "starlette", "uvicorn", "markupsafe"}


def _imports(path: Path) -> set[str]:
    found = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            above = ["stillroom", *path.relative_to(ROOT).parts[: -node.level]] if node.level else []
            module = ".".join([*above, *([node.module] if node.module else [])])
            found |= {module, *(f"{module}.{alias.name}" for alias in node.names)}
    return found


def _files(top: str) -> list[Path]:
    return [p for p in (ROOT / top).rglob("*.py")]


def test_db_stands_alone() -> None:
    """db imports nothing of ours but db, and no web."""
    for path in _files("db"):
        for name in _imports(path):
            assert not name.startswith(("stillroom.loaders", "stillroom.plugins")), (path, name)
            assert name.split(".")[0] not in WEB, (path, name)


def test_loaders_do_not_know_plugins() -> None:
    """Loaders write what plugins read, and know none."""
    assert not [(p, n) for p in _files("loaders") for n in _imports(p) if n.startswith("stillroom.plugins")]


def test_features_do_not_import_each_other() -> None:
    """A feature sees db, core and physics; compute and physics know no web."""
    for path in _files("plugins"):
        feature = path.relative_to(ROOT / "plugins").parts[0]
        for name in _imports(path):
            parts = name.split(".")
            if name.startswith("stillroom.plugins.") and parts[2] not in {"core", "physics"}:
                assert parts[2] == feature, (path, name)
            if feature == "physics" or path.name == "compute.py":
                assert parts[0] not in WEB, (path, name)


def test_plugins_do_not_load() -> None:
    """What people see knows no loader; core knows no feature and no physics; physics only itself and limits."""
    allowed = {"core": ("db", "plugins.core"), "physics": ("plugins.physics", "db.pieces")}
    for path in _files("plugins"):
        ours = {n.removeprefix("stillroom.") for n in _imports(path) if n.startswith("stillroom.")} - {"plugins"}
        assert not [n for n in ours if n.startswith("loaders")], path
        layers = allowed.get(path.relative_to(ROOT / "plugins").parts[0])
        assert layers is None or not [n for n in ours if not n.startswith(layers)], path


def test_hooks_stand_alone_in_the_first_file() -> None:
    """A feature's __init__ holds hooks and nothing else, in at most sixty lines."""
    for path in (ROOT / "plugins").glob("*/__init__.py"):
        text = path.read_text("utf-8")
        functions = [
            n for n in ast.parse(text).body if isinstance(n, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef)
        ]
        assert all("hookimpl" in ast.dump(d) for n in functions for d in n.decorator_list[:1]), path
        assert all(n.decorator_list for n in functions) and len(text.splitlines()) <= 65, path
