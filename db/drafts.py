"""A draft dish: a recipe as it is typed, checked word for word as the kitchen's files are, and laid beside others.

A draft keeps what was typed. `check` reads it; what can't be read is told field by field and nothing is lost.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from typing import TypeVar

from stillroom.db.exact import exact_text
from stillroom.db.graph import Line, LoopError, order
from stillroom.db.kitchen import settings
from stillroom.db.named_sql import load
from stillroom.db.names import fold
from stillroom.db.problems import Place, Problem, quoted
from stillroom.db.quantity import ReadError, read_money, read_quantity, read_share
from stillroom.db.recipe_lines import Names, ReadLine, Thing
from stillroom.db.units import BASE, find_unit

T = TypeVar("T")

LEFT_OFF, EDIBLE, SCALES = "can be left off", "yield ", "does not scale: "
MOST_LINES = 1000
LONGEST = 300
UNTOLD = {"price": "its price can't be read", "target": "its food cost can't be read"}  # what they quote is money


@dataclass(frozen=True)
class DraftLine:
    """One component as typed: the line, whether a plate can go out without it, edible part, why it does not scale."""

    text: str
    can_be_left_off: bool = False
    edible: str = ""
    scales: str = ""

    def __str__(self) -> str:
        """'60 g leeks | can be left off | yield 62 % | does not scale: salt'."""
        more = [LEFT_OFF] if self.can_be_left_off else []
        more += [f"{EDIBLE}{self.edible}"] if self.edible else []
        more += [f"{SCALES}{self.scales}"] if self.scales else []
        return " | ".join([self.text, *more])


@dataclass(frozen=True)
class Draft:
    """A recipe as typed; every field is text, '' = nothing said."""

    name: str
    kind: str = "dish"
    section: str = ""
    yield_text: str = ""
    price: str = ""
    target_cost: str = ""
    station: str = ""
    surfaces: tuple[str, ...] = ()
    lines: tuple[DraftLine, ...] = ()
    method: tuple[str, ...] = ()
    note: str = ""


@dataclass(frozen=True)
class Component:
    """A line that was understood. edible: EP / AP of this line, 0 to 1 [-], None where it says nothing."""

    line: DraftLine
    read: ReadLine
    edible: Fraction | None


@dataclass(frozen=True)
class Checked:
    """What a draft came to: components in order, one batch in its base unit, price; and what is wrong, by field.

    A field is 'yield', 'price', 'target', 'station', 'surfaces', 'name' or 'line3'. made and unit are None and '' where
    the yield can't be read.
    """

    components: tuple[Component, ...]
    made: Fraction | None
    unit: str
    price: Decimal | None
    target: Fraction | None
    station: str | None
    surfaces: tuple[str, ...]
    problems: dict[str, Problem] = field(default_factory=dict)


def read_lines(text: str) -> tuple[DraftLine, ...]:
    """Components from text, one a line; what stands behind a bar says more about it."""
    return tuple(_line(row) for row in text.splitlines() if row.strip())


def _line(row: str) -> DraftLine:
    text, *more = [part.strip() for part in row.split("|")]
    said = [part.lower() for part in more]
    edible = next((part[len(EDIBLE) :] for part in more if part.lower().startswith(EDIBLE)), "")
    scales = next((part[len(SCALES) :] for part in more if part.lower().startswith(SCALES)), "")
    return DraftLine(text, LEFT_OFF in said, edible.strip(), scales.strip())


def write_lines(lines: Sequence[DraftLine]) -> str:
    """The text that `read_lines` reads."""
    return "\n".join(map(str, lines))


def check(draft: Draft, names: Names, stations: Mapping[str, str], surfaces: Mapping[str, str]) -> Checked:
    """A draft read word for word as the files are.

    Args:
        names: items and recipes.
        stations, surfaces: folded name -> id.
    """
    wrong: dict[str, Problem] = {}
    made, unit = _yield(draft, names, wrong)
    price = _read(wrong, "price", draft.price, lambda: read_money(draft.price, names.mark))
    target = _read(wrong, "target", draft.target_cost, lambda: read_share(draft.target_cost, names.mark))
    station = stations.get(fold(draft.station))
    if draft.station and station is None:
        _tell(wrong, "station", "name-unknown", f"there is no {quoted(draft.station)} in stations", "choose one")
    over = [surfaces.get(fold(name)) for name in draft.surfaces]
    for name, found in zip(draft.surfaces, over, strict=True):
        if found is None:
            _tell(wrong, "surfaces", "name-unknown", f"there is no {quoted(name)} in surfaces", "choose one")
    parts = [c for n, line in enumerate(draft.lines, 1) if (c := _component(line, f"line{n}", names, wrong))]
    _refuse_itself(draft, wrong, parts)
    return Checked(tuple(parts), made, unit, price, target, station, tuple(s for s in over if s), wrong)


def _yield(draft: Draft, names: Names, wrong: dict[str, Problem]) -> tuple[Fraction | None, str]:
    """One batch in its base unit."""
    if not draft.yield_text:
        _tell(wrong, "yield", "cell-empty", "nothing says what one batch makes", "write 1 plate, 2 qt, 400 g")
        return None, ""
    try:
        said = read_quantity(draft.yield_text, names.mark)
        unit = find_unit(said.unit_text, names.system)
    except ReadError as error:
        wrong["yield"] = problem("yield", error)
        return None, ""
    if said.number <= 0:
        _tell(wrong, "yield", "quantity-low", f"{quoted(draft.yield_text)} is not above zero", "write 1 plate")
        return None, ""
    if draft.kind == "dish" and unit.dimension != "count":
        _tell(wrong, "yield", "dish-yield", f"{quoted(draft.yield_text)} is no number of plates", "write 1 plate")
        return None, ""
    base = next(b for b, dimension in BASE.items() if dimension == unit.dimension)
    return said.number * unit.factor, base


def _component(line: DraftLine, where: str, names: Names, wrong: dict[str, Problem]) -> Component | None:
    try:
        if len(line.text) > LONGEST:
            raise ReadError("line-bad", "the line is longer than a line can be", "", "part it in two")
        read = names.read(line.text)
        edible = read_share(line.edible, names.mark) if line.edible else None
    except ReadError as error:
        wrong[where] = problem(where, error)
        return None
    if edible == 0:
        _tell(wrong, where, "percent-bad", "a yield of 0 % leaves nothing", "write the edible part")
        return None
    return Component(line, read, edible)


def _refuse_itself(draft: Draft, wrong: dict[str, Problem], parts: Sequence[Component]) -> None:
    """A recipe that names itself."""
    own = fold(draft.name)
    at = {id(line): f"line{n}" for n, line in enumerate(draft.lines, 1)}
    for part in parts:
        if part.read.thing.is_recipe and fold(part.read.thing.name) == own:
            said = f"a recipe uses itself: {draft.name} > {draft.name}"
            _tell(wrong, at[id(part.line)], "loop", said, "name the sub-recipe that is meant")


def _refuse_taken(draft: Draft, names: Names, own: str, wrong: dict[str, Problem]) -> None:
    """A name that something else has, or had: what was written of it would mean the wrong thing."""
    other = names.holder(draft.name, own)
    if other is not None:
        kind = "recipe" if other.is_recipe else "item"
        has = f"there is the {kind} {other.name} of that name"
        had = f"{quoted(draft.name)} was, or comes to the same as, the name of the {kind} {other.name}"
        said = has if fold(other.name) == fold(draft.name) else had
        _tell(wrong, "name", "name-twice", said, "give it another name")


def _refuse_meant(
    connection: sqlite3.Connection, draft: Draft, own: str, names: Names, wrong: dict[str, Problem]
) -> None:
    """A name that a line says already and means something else by: read again, it would mean the wrong thing."""
    form, made = fold(draft.name), Thing(own, draft.name, True, "each")
    known = names.by_name.get(form)
    if not form or (known is not None and known.is_recipe and known.id == own):
        return
    then = names.also(made)
    for text, user in _said(connection, draft, own).items():
        now = names.meant(text) if form in fold(text) else None
        if now is not None and not (now.is_recipe and now.id == own) and then.meant(text) is made:
            said = f"{quoted(text)} of {user} means {now.name}, and would mean this"
            return _tell(wrong, "name", "name-twice", said, "give it another name")


def _said(connection: sqlite3.Connection, draft: Draft, own: str) -> dict[str, str]:
    """Every line that is written, each once -> a recipe or trial that says it, the draft itself first."""
    found = {line.text: draft.name for line in draft.lines}
    for user, lines in connection.execute(load("stillroom.db")["lines_said"], {"own": own}):
        for line in read_lines(lines):
            found.setdefault(line.text, user)
    return found


def _read(wrong: dict[str, Problem], where: str, text: str, read: Callable[[], T]) -> T | None:
    """A value of a field that may be empty."""
    try:
        return read() if text else None
    except ReadError as error:
        wrong[where] = problem(where, error)
        return None


def _tell(wrong: dict[str, Problem], where: str, code: str, what: str, fix: str) -> None:
    wrong.setdefault(where, Problem(code, Place(where), what, "", fix))


def told(problems: Mapping[str, Problem], with_money: bool) -> dict[str, str]:
    """Field -> what is wrong, in words; without the sums that a field of money quotes, for whoever may not see them."""
    return {where: p.what if with_money else UNTOLD.get(where, p.what) for where, p in problems.items()}


def problem(where: str, error: ReadError) -> Problem:
    """A text that can't be read, as a problem of its field."""
    return Problem(error.code, Place(where), error.what, error.why, error.fix)


def loop(connection: sqlite3.Connection, recipe: str, parts: Sequence[Component]) -> list[str]:
    """Names of the loop that a recipe with these components would close, the first again at the end; [] = none."""
    names = dict(connection.execute("select id, name from recipes"))
    lines = [
        Line(user, 0, None, sub, Fraction(1))
        for user, sub in connection.execute("select recipe_id, sub_recipe_id from components where sub_recipe_id <> ''")
        if user != recipe
    ]
    lines += [Line(recipe, 0, None, p.read.thing.id, Fraction(1)) for p in parts if p.read.thing.is_recipe]
    try:
        order({*names, recipe}, lines)
    except LoopError as error:
        return [names.get(i, i) for i in error.loop]
    return []


def check_in(connection: sqlite3.Connection, draft: Draft, recipe: str, names: Names) -> Checked:
    """`check` against a kitchen's file; a loop is told at the line that closes it.

    Args:
        recipe: id of the recipe that the draft is, or would be.
    """
    found = check(draft, names, _ids(connection, "stations"), _ids(connection, "surfaces"))
    _refuse_taken(draft, names, recipe, found.problems)
    _refuse_meant(connection, draft, recipe, names, found.problems)
    ring = loop(connection, recipe, found.components) if not found.problems else []
    if ring:
        said = "a recipe uses itself: " + " > ".join(ring)
        at = next((n for n, c in enumerate(found.components, 1) if c.read.thing.name in ring), 1)
        _tell(found.problems, f"line{at}", "loop", said, "take this line out, or one further on in the loop")
    return found


def _ids(connection: sqlite3.Connection, table: str) -> dict[str, str]:
    return {fold(name): i for i, name in connection.execute(f"select id, name from {table}")}


def draft_of(connection: sqlite3.Connection, recipe: str) -> Draft | None:
    """The draft that says what a recipe of the kitchen says now; None where there is none, or a cut."""
    head = connection.execute(
        "select r.name, r.kind, r.section, r.yield_text, r.menu_price, r.target_cost_pct, s.name, r.note"
        " from recipes as r left join stations as s on s.id = r.station_id where r.id = ? and r.kind <> 'cut'",
        (recipe,),
    ).fetchone()
    if head is None:
        return None
    name, kind, section, made, price, target, station, note = head
    surfaces = connection.execute(
        "select s.name from recipe_surfaces as x join surfaces as s on s.id = x.surface_id where x.recipe_id = ?"
        " order by s.name", (recipe,),
    )  # fmt: skip
    steps = connection.execute("select text from method_steps where recipe_id = ? order by position", (recipe,))
    mark = settings(connection)["decimal mark"]
    price = (price or "").replace(".", mark)
    return Draft(
        name, kind, section, made, price, _share(target, mark), station or "", tuple(s for (s,) in surfaces),
        _lines_of(connection, recipe, mark), tuple(s for (s,) in steps), note,
    )  # fmt: skip


def _share(percent: str | None, mark: str) -> str:
    """Per cent as a person writes it; '' for None."""
    return f"{percent.replace('.', mark)} %" if percent else ""


def _lines_of(connection: sqlite3.Connection, recipe: str, mark: str) -> tuple[DraftLine, ...]:
    rows = connection.execute(
        "select line, is_removable, edible_yield, scales from components where recipe_id = ? order by position",
        (recipe,),
    )
    found = []
    for line, off, edible, scales in rows:
        share = None if edible is None else exact_text(Fraction(edible) * 100)
        found.append(DraftLine(line, bool(off), _share(share, mark), "" if scales == "straight" else scales))
    return tuple(found)
