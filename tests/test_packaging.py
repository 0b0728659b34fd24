"""The package list, one static folder, unique templates."""

from __future__ import annotations

import shutil
import subprocess
import sys
import tomllib
import zipfile
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
    found = (ROOT / "plugins").rglob("templates/**/*.html")
    names = [str(p.relative_to(next(x for x in p.parents if x.name == "templates"))) for p in found]
    assert len(names) == len(set(names)) > 5


def test_metadata_is_one_file() -> None:
    """The packaged metadata is the one at the top."""
    assert (ROOT / "db" / "metadata.yaml").resolve() == ROOT / "metadata.yaml"


def test_the_wheel_holds_every_file_that_is_read(tmp_path: Path) -> None:
    """Templates, style sheet, SQL, views, reference figures, the demonstration; metadata as a file, not a link."""
    source = tmp_path / "source"
    ignore = shutil.ignore_patterns(".*", "*.egg-info", "build", "dist", "__pycache__", "tests", "var", "*.db*")
    shutil.copytree(ROOT, source, ignore=ignore, symlinks=True)
    command = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--wheel-dir", str(tmp_path), str(source)]
    subprocess.run(command, check=True)
    with zipfile.ZipFile(next(tmp_path.glob("*.whl"))) as wheel:
        packed = set(wheel.namelist())
        assert wheel.read("stillroom/db/metadata.yaml") == (ROOT / "metadata.yaml").read_bytes()
    read = [
        path.relative_to(ROOT)
        for top in ("db", "loaders", "plugins")
        for path in (ROOT / top).rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    ]
    assert len(read) > 100
    assert {str("stillroom" / path) for path in read} <= packed
