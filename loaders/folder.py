"""A kitchen as a folder: which file is read as what, and which files have no business there."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path

from stillroom.db.problems import Place
from stillroom.loaders.csv_files import read_csv
from stillroom.loaders.price_lists import read_price_list
from stillroom.loaders.recipe_yaml import read_recipes, read_settings
from stillroom.loaders.source import Source, nearest, plain_name

RECIPES = "recipes"
PRICE_LISTS = "price lists"
YAML = {".yaml", ".yml"}
PICTURES = {".jpg", ".jpeg", ".png", ".webp"}
PASSED_OVER = {"readme.md", "readme.txt", "notes.txt", "thumbs.db", "desktop.ini"}
OTHER_SHEETS = {".xls", ".xlsm", ".ods", ".numbers", ".txt", ".tsv"}


def read_folder(folder: Path, source: Source) -> None:
    """All files of a kitchen's folder into the source."""
    found = _entries(folder, source)
    if found is None:
        return
    if not found:
        source.problem(
            "source-empty", Place(str(folder)), "the folder holds no file of a kitchen", "",
            f"stillroom blank {folder} writes an empty kitchen into it",
        )  # fmt: skip
    taken: dict[str, Path] = {}
    for path in found:
        if not _inside(path, folder, source) or _is_second(path, taken, source):
            continue
        name = plain_name(path.stem)
        if path.suffix.lower() == ".csv":
            read_csv(path, source)
        elif path.suffix.lower() in YAML and name == "kitchen":
            read_settings(path, source)
        elif path.is_dir():
            _read_sub_folder(path, folder, source)
        else:
            _unknown_file(path, source)


def _read_sub_folder(path: Path, folder: Path, source: Source) -> None:
    name = plain_name(path.name)
    if name == RECIPES:
        _each(path, folder, source, read_recipes, YAML, PICTURES)
    elif name == PRICE_LISTS:
        _each(path, folder, source, lambda p, s: read_price_list(p, folder, s), YAML, {".csv", ".xlsx"})
    else:
        source.problem(
            "folder-unknown", Place(str(path)), "is none of the kitchen's folders",
            nearest(name, (RECIPES, PRICE_LISTS)) or f"Folders: {RECIPES}, price_lists.", "rename it, or take it out",
        )  # fmt: skip


def _each(
    folder: Path,
    top: Path,
    source: Source,
    read: Callable[[Path, Source], None],
    kinds: set[str],
    beside: set[str],
) -> None:
    """Reads the files of a kind; those of the kinds `beside` may lie there, others may not."""
    for path in _entries(folder, source) or ():
        kind = path.suffix.lower()
        if not _inside(path, top, source) or (kind in beside and path.is_file()):
            continue
        if kind in kinds:
            read(path, source)
        else:
            what = "a folder in a folder" if path.is_dir() else "not read here"
            source.problem(
                "file-unknown",
                Place(str(path)),
                f"is {what}",
                f"Read here: {_words(kinds)}.",
                "rename it, or take it out",
            )


def _words(kinds: Iterable[str]) -> str:
    return ", ".join(sorted(kinds))


def _entries(folder: Path, source: Source) -> list[Path] | None:
    """What lies in a folder, without what systems and spreadsheets leave there; None where it can't be looked into."""
    try:
        found = sorted(folder.iterdir())
    except OSError as error:
        source.problem(
            "file-unreadable",
            Place(str(folder)),
            f"can't be looked into: {error.strerror}",
            "",
            "give this account the right to read it",
        )
        return None
    return [p for p in found if not p.name.startswith((".", "~$")) and p.name.lower() not in PASSED_OVER]


def _inside(path: Path, folder: Path, source: Source) -> bool:
    """Whether a file stays within the kitchen's folder when links are followed."""
    try:
        if path.resolve().is_relative_to(folder.resolve()):
            return True
        what = "is a link that leads out of the folder"
    except (OSError, RuntimeError):  # a circle raises RuntimeError up to Python 3.12
        what = "is a link that leads in a circle"
    source.problem("file-outside", Place(str(path)), what, "", "put the file itself here")
    return False


def _is_second(path: Path, taken: dict[str, Path], source: Source) -> bool:
    """Whether another file of the folder has the same name but for spelling: Items.csv and items.csv."""
    first = taken.setdefault(f"{plain_name(path.stem)}{path.suffix.lower().replace('.yml', '.yaml')}", path)
    if first is not path:
        source.problem(
            "file-twice",
            Place(str(path)),
            "is a second file for one table",
            f"First: {first}.",
            "put all rows into one of them",
        )
    return first is not path


def _unknown_file(path: Path, source: Source) -> None:
    kind = path.suffix.lower()
    if kind in YAML:
        why, fix = (
            "Settings stand in kitchen.yaml, recipes in the folder recipes.",
            "move it into recipes, or take it out",
        )
    elif kind == ".xlsx":
        why, fix = (
            "A workbook is a whole kitchen by itself.",
            f"stillroom check {path} reads it; or save its sheets as CSV UTF-8",
        )
    elif kind in OTHER_SHEETS:
        why, fix = "Tables are .csv files.", "save it as CSV UTF-8"
    else:
        why, fix = (
            "A kitchen is kitchen.yaml, tables as .csv, recipes/*.yaml and price_lists.",
            "rename it, or take it out",
        )
    source.problem("file-unknown", Place(str(path)), "is none of the kitchen's files", why, fix)
