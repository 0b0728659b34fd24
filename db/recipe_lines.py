"""Recipe lines against the names that a kitchen knows: which item or recipe, and how much of it in its own unit.

The one place where a line's name is matched and its quantity measured: a load asks it with the names of the files, a
page with those of the kitchen's file (`names_of`).
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Mapping
from copy import copy
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Protocol

from stillroom.db.kitchen import settings
from stillroom.db.named_sql import load
from stillroom.db.names import fold, nearest, slug
from stillroom.db.problems import quoted
from stillroom.db.quantity import WHOLE_BATCH, ReadError, SaidLine, read_line
from stillroom.db.units import is_unit, to_base

BATCHES = frozenset({WHOLE_BATCH, "batches"})


class Measured(Protocol):
    """What a quantity can be of: its base unit, its own measures, and what one batch of it makes."""

    @property
    def name(self) -> str: ...
    @property
    def unit(self) -> str: ...
    @property
    def measures(self) -> Mapping[str, Fraction]: ...
    @property
    def batch(self) -> Fraction | None: ...


def in_base_unit(thing: Measured, number: Fraction, unit_text: str, system: str) -> Fraction:
    """A quantity in a thing's base unit.

    Raises:
        ReadError: unit-unknown, unit-no-measure; its words name the thing.
    """
    if thing.batch is not None and unit_text.lower() in BATCHES:
        return number * thing.batch
    try:
        return to_base(number, unit_text, thing.unit, thing.measures, system)
    except ReadError as error:
        raise ReadError(error.code, f"{thing.name}: {error.what}", error.why, error.fix, error.here) from error


class UnknownName(ReadError):
    """A line names nothing that is known. name: as far as it can be one; near: the name most like it, '' for none."""

    def __init__(self, name: str, near: str) -> None:
        hint = f'Nearest: "{near}".' if near else ""
        what = f"there is no {quoted(name)} in items or recipes"
        super().__init__("name-unknown", what, hint, "mend the spelling, or name another")
        self.name, self.near = name, near


@dataclass(frozen=True)
class Thing:
    """An item or recipe that a line may name.

    Attributes:
        unit: its base unit: g, ml or each.
        measures: its own: measure -> quantity in unit.
        batch: of a recipe: what one batch makes [unit].
    """

    id: str
    name: str
    is_recipe: bool
    unit: str
    measures: Mapping[str, Fraction] = field(default_factory=dict)
    batch: Fraction | None = None


@dataclass(frozen=True)
class ReadLine:
    """A line that was understood: quantity in the thing's unit, for one batch; number and unit as they were written."""

    thing: Thing
    quantity: Fraction
    number_text: str
    unit_text: str
    prep: str


class Names:
    """All items and recipes of a kitchen by name.

    Args:
        system: whose cups and pints.
        mark: the decimal mark.
        once: names that things had before, with the ids of the recipes that had them; they go on meaning them.
    """

    def __init__(
        self, things: Iterable[Thing], system: str = "US", mark: str = ".", once: Iterable[tuple[str, str]] = ()
    ) -> None:
        self.by_name = {fold(thing.name): thing for thing in things}
        recipes = {thing.id: thing for thing in self.by_name.values() if thing.is_recipe}
        self.once = {fold(name): recipes[i] for name, i in once if i in recipes}
        self.system, self.mark = system, mark
        self._own = {measure for thing in self.by_name.values() for measure in thing.measures}

    def find(self, name: str) -> Thing | None:
        """The thing of a name, or of one that it had; of its plural too."""
        forms = (fold(name), fold(name.removesuffix("s")))
        return next((known[form] for known in (self.by_name, self.once) for form in forms if form in known), None)

    def holder(self, name: str, own: str) -> Thing | None:
        """Another item or recipe that a name is or was the name of, or its plural, or whose id it would make.

        Args:
            own: id of the recipe that is to have the name.
        """
        form, made = fold(name), slug(name)
        held = [self.find(form), self.once.get(form), *(t for t in self.by_name.values() if t.id == made)]
        return next((t for t in held if t is not None and not (t.is_recipe and t.id == own)), None)

    def also(self, thing: Thing) -> Names:
        """The same with one thing more."""
        more = copy(self)
        more.by_name = {**self.by_name, fold(thing.name): thing}
        return more

    def meant(self, text: str) -> Thing | None:
        """What a line names; None where it names nothing that is known, or can't be read."""
        try:
            return self._named(self.parts(text))[0]
        except ReadError:
            return None

    def is_measure(self, word: str) -> bool:
        """Whether a word of a line is a unit, a whole batch, or some thing's own measure."""
        plain = word.lower()
        forms = {plain, plain.removesuffix("s"), plain.removesuffix("es")}
        return plain in BATCHES or is_unit(plain, self.system) or bool(forms & self._own)

    def near(self, name: str) -> str:
        """The name most like it, as it is written; '' where none is."""
        found = nearest(name, self.by_name)
        return self.by_name[found].name if found else ""

    def parts(self, text: str) -> SaidLine:
        """A line in its parts, its name not looked for yet.

        Raises:
            ReadError: line-bad, number-bad.
        """
        return read_line(text, self.is_measure, self.mark, self.system)

    def read(self, text: str) -> ReadLine:
        """A line as the recipe files write it: '5 lb leeks, trimmed'.

        Raises:
            ReadError: line-bad, number-bad, quantity-low, unit-unknown, unit-no-measure.
            UnknownName: nothing has the name.
        """
        said = self.parts(text)
        thing, prep = self._named(said)
        if said.number <= 0:
            raise ReadError("quantity-low", f"{quoted(text)} is not above zero", "", "write how much goes in")
        quantity = in_base_unit(thing, said.number, said.unit_text, self.system)
        return ReadLine(thing, quantity, said.number_text, said.unit_text, prep)

    def retold(self, text: str, name: str) -> str:
        """A line that says another name in the place of the one it says: '1 batch Leek cream, warm' of Leek purée.

        Raises:
            ReadError: line-bad, number-bad.
        """
        said = self.parts(text)
        old, prep = next(pair for pair in said.names() if self.find(pair[0]) or pair == said.names()[-1])
        before, found, behind = text.partition(old)
        plain = f"{said.number_text} {said.unit_text or 'ea'} {name}" + (f", {prep}" if prep else "")
        return f"{before}{name}{behind}" if found else plain

    def _named(self, said: SaidLine) -> tuple[Thing, str]:
        """The thing that a line names, the longest name first, and how it is prepared."""
        for name, prep in said.names():
            thing = self.find(name)
            if thing is not None:
                return thing, prep
        shortest = said.names()[-1][0]
        word, _, rest = shortest.partition(" ")
        meant = self.find(rest) if rest else None
        if meant is not None and not said.unit_text:
            in_base_unit(meant, said.number, word, self.system)  # it was meant for a unit: says so
        raise UnknownName(shortest, self.near(shortest))


def names_of(connection: sqlite3.Connection) -> Names:
    """The names of a kitchen's file."""
    said = settings(connection)
    measures: dict[str, dict[str, Fraction]] = {}
    for owner, measure, quantity in connection.execute(
        "select 'i ' || item_id, measure, quantity from item_measures"
        " union all select 'r ' || recipe_id, measure, quantity from recipe_measures"
    ):
        measures.setdefault(owner, {})[measure] = Fraction(quantity)
    things = [
        Thing(i, name, False, unit, measures.get(f"i {i}", {}))
        for i, name, unit in connection.execute("select id, name, unit from items")
    ]
    things += [
        Thing(i, name, True, unit, measures.get(f"r {i}", {}), Fraction(made))
        for i, name, unit, made in connection.execute("select id, name, yield_unit, yield_quantity from recipes")
    ]
    once = [(name, i) for i, names in earlier_names(connection).items() for name in names]
    return Names(things, said["units"], said["decimal mark"], once)


def earlier_names(connection: sqlite3.Connection) -> dict[str, list[str]]:
    """Recipe -> every name that it ever had, the first one first; of those alone that had, or may have, another."""
    ids = [i for i, name in connection.execute("select id, name from recipes") if slug(name) != i]
    found: dict[str, list[str]] = {}
    for recipe, name in connection.execute(load("stillroom.db")["earlier_names"], {"renamed": json.dumps(ids)}):
        found.setdefault(recipe, []).append(name)
    return found
