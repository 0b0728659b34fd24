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
        elif isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
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
