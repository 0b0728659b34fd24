"""Names of recipes before their lines are read: what each yields, by which names it goes, and what a line may name."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from fractions import Fraction
from pathlib import Path
from urllib.parse import quote

from stillroom.db.names import fold, slug
from stillroom.db.problems import quoted
from stillroom.db.quantity import ReadError
from stillroom.db.recipe_lines import Names, Thing, earlier_names
from stillroom.db.units import BASE, Unit, find_unit
from stillroom.loaders.read import Cells, Known, Load

NAMED = "items or recipes"  # what a line may name


def register_recipes(load: Load) -> list[tuple[Cells, Known]]:
    """Gives every recipe its name, yield and batch, so that lines may use it before it is read."""
    found = []
    for cells in load.cells("recipes"):
        known = _known_recipe(load, cells)
        if known is None or _is_anothers(load, cells):
            load.failed.add(fold(cells.text("name")))
        elif load.register(known, "recipes", NAMED):
            found.append((cells, known))
    for cells, known in found:
        for kind in ("recipes", NAMED) if cells.text("first called") else ():
            load.names[kind].setdefault(fold(cells.text("first called")), known)
    return found


def _is_anothers(load: Load, cells: Cells) -> bool:
    """Whether a first name is that of a recipe that is there; a problem where it is."""
    first = cells.text("first called")
    twin = load.ids.get("recipes", {}).get(slug(first)) if first else None
    if twin is not None:
        why = f"That is {quoted(twin.name)}, at {twin.place}."
        what = f"{quoted(first)} is there already"
        cells.problem("name-twice", "first called", what, why, "write its own first name")
    return twin is not None


def _id(cells: Cells) -> str:
    """A recipe's id: that of its first name."""
    return slug(cells.text("first called") or cells.text("name"))


def _known_recipe(load: Load, cells: Cells) -> Known | None:
    name, kind = cells["name"], cells["kind"]
    if not name or not kind:
        return None
    place, name = cells.place("name"), " ".join(name.split())
    if kind == "cut":
        portion = _cut_portion(load, cells)
        return (
            None
            if portion is None
            else Known("recipes", _id(cells), name, place, "each", {"g": 1 / portion}, Fraction(1))
        )
    if not cells.text("yield"):
        why = "It says: of one batch."
        cells.problem("cell-empty", "yield", '"yield" is empty', why, "write what one batch makes: 2 qt, 4 plates")
        return None
    said = cells["yield"]
    unit = None if said is None else _unit(load, cells, "yield", said.unit_text)
    if unit is None:
        return None
    if said.number <= 0:
        cells.problem(
            "quantity-low",
            "yield",
            f"{quoted(cells.text('yield'))} is not above zero",
            "",
            "write what one batch makes",
        )
        return None
    if cells["kind"] == "dish" and unit.dimension != "count":
        what = f"{quoted(cells.text('yield'))} is no number of plates"
        why = "A dish is sold, priced and reckoned by the plate."
        cells.problem("dish-yield", "yield", what, why, "write how many plates it makes: 4 plates")
        return None
    base = next(b for b, dimension in BASE.items() if dimension == unit.dimension)
    return Known("recipes", _id(cells), name, place, base, {}, said.number * unit.factor)


def _unit(load: Load, cells: Cells, column: str, text: str) -> Unit | None:
    """The unit of a recipe's own measure; None, and a problem told, where it is none."""
    try:
        load.ask_pint(text, {}, cells.place(column))
        return find_unit(text, load.system)
    except ReadError as error:
        load.error(cells.place(column), error)
        return None


def _cut_portion(load: Load, cells: Cells) -> Fraction | None:
    said = cells["portion"]
    if said is None:
        if not cells.text("portion"):
            cells.problem("cell-empty", "portion", "a cut needs the weight of one portion", "", "write portion: 9 oz")
        return None
    unit = _unit(load, cells, "portion", said.unit_text)
    if unit is None:
        return None
    if unit.dimension != "mass" or said.number <= 0:
        cells.problem(
            "cut-portion", "portion", f"{quoted(cells.text('portion'))} is not a weight", "", "write portion: 9 oz"
        )
        return None
    portion: Fraction = said.number * unit.factor
    return portion


def line_names(load: Load) -> Names:
    """Everything that a line may name, by a name that it had too: the files tell, and the kitchen's file."""
    known = load.names.get(NAMED, {})
    once = [(name, one.id) for name, one in known.items() if name != fold(one.name)]
    once += [*_written(load), *load.earlier]
    return Names(map(as_thing, known.values()), load.system, load.mark, once)


def _written(load: Load) -> Iterator[tuple[str, str]]:
    """Names in the record of how recipes stood, which a kitchen written out as files has beside them."""
    for sheet in load.source.sheets.get("book versions", ()):
        places = [sheet.columns.index(name) if name in sheet.columns else None for name in ("what", "of", "state")]
        for row in sheet.rows:
            what, key, state = ("" if place is None else row.values[place].strip() for place in places)
            if what == "recipe" and key in load.ids.get("recipes", {}) and (name := _name_in(state)):
                yield name, key


def _name_in(state: str) -> str:
    """The name that a recipe had in one state; '' where there is none, or the text is none of ours."""
    try:
        return str(json.loads(state)["recipe"][0])
    except (ValueError, TypeError, LookupError):
        return ""


def kept_names(database: Path) -> list[tuple[str, str]]:
    """Every name that recipes of a kitchen's file had, with their ids; none where there is no such file yet."""
    if not database.exists():
        return []
    try:
        with closing(sqlite3.connect(f"file:{quote(str(database.absolute()))}?mode=ro", uri=True, timeout=10)) as old:
            return [(name, key) for key, names in earlier_names(old).items() for name in names]
    except sqlite3.DatabaseError:  # an older file, or none of ours: told where it is opened for writing
        return []


def as_thing(known: Known) -> Thing:
    return Thing(known.id, known.name, known.table == "recipes", known.unit, known.measures, known.batch)
