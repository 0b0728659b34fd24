"""The package list, one static folder, unique templates."""

from __future__ import annotations

import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[1]


def test_every_package_is_listed() -> None:
    """A package that is not in the list would be missing from the wheel."""
    listed = set(tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["setuptools"]["packages"])
    found = {
        "stillroom." + ".".join(p.parent.relative_to(ROOT).parts)
        for top in ("db", "loaders", "plugins")
        for p in (ROOT / top).rglob("__init__.py")
    }
    assert listed == found


def test_only_one_static_folder() -> None:
    """All plugins of one distribution share one static address, and which folder wins is chance."""
    assert [p.parent.name for p in (ROOT / "plugins").glob("*/static")] == ["core"]


def test_template_names_are_unique() -> None:
    """Two templates of one name would show each other's page."""
    names = [str(p.relative_to(next(x for x in p.parents if x.name == "templates"))) for p in (ROOT / "plugins").rglob("templates/**/*.html")]
    assert len(names) == len(set(names)) > 5


def test_metadata_is_one_file() -> None:
    """The packaged metadata is the one at the top."""
    assert (ROOT / "db" / "metadata.yaml").resolve() == ROOT / "metadata.yaml"
