"""Recipe lines against the names that a kitchen knows: which item or recipe, and how much of it in its own unit.

The one place where a line's name is matched and its quantity measured: a load asks it with the names of the files, a
page with those of the kitchen's file (`names_of`).
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping, Sequence
from copy import copy
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Protocol

from stillroom.db.kitchen import settings
from stillroom.db.named_sql import load
from stillroom.db.names import fold, near_hint, near_names, once_called, slug
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
    """A line names nothing that is known. name: as far as it can be one; near: names that may be meant."""

    def __init__(self, name: str, near: Sequence[str]) -> None:
        what = f"there is no {quoted(name)} in items or recipes"
        super().__init__("name-unknown", what, near_hint(near), "mend the spelling, or name another")
        self.name, self.near = name, near


class SharedName(ReadError):
    """A line says an earlier name that several recipes had: each would be a guess."""

    def __init__(self, name: str, had: Sequence[str]) -> None:
        what = f"{quoted(name)} was the name of {' and of '.join(map(quoted, had))}"
        super().__init__("name-shared", what, "", f"write {' or '.join(map(quoted, had))}, whichever is meant")


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
        once: names that things had before, with the ids of the recipes that had them; they go on meaning them, but
            for a name that something has now, or that several had.
    """

    def __init__(
        self, things: Iterable[Thing], system: str = "US", mark: str = ".", once: Iterable[tuple[str, str]] = ()
    ) -> None:
        self.by_name = {fold(thing.name): thing for thing in things}
        recipes = {thing.id: thing for thing in self.by_name.values() if thing.is_recipe}
        had = once_called(((name, i) for name, i in once if i in recipes), self.by_name)
        self.once = {name: tuple(recipes[i] for i in ids) for name, ids in had.items()}
        self.system, self.mark = system, mark
        self._own = {measure for thing in self.by_name.values() for measure in thing.measures}

    def find(self, name: str) -> Thing | None:
        """The thing of a name, or of one that it alone had; of its plural too."""
        now = next((self.by_name[form] for form in self._forms(name) if form in self.by_name), None)
        had = () if now else self.had(name)
        return now or (had[0] if len(had) == 1 else None)

    def had(self, name: str) -> tuple[Thing, ...]:
        """Recipes that had a name, or its plural, which nothing has now."""
        return next((self.once[form] for form in self._forms(name) if form in self.once), ())

    @staticmethod
    def _forms(name: str) -> tuple[str, str]:
        return fold(name), fold(name.removesuffix("s"))

    def holder(self, name: str, own: str) -> Thing | None:
        """Another item or recipe that a name is or was the name of, or its plural, or whose id it would make.

        Args:
            own: id of the recipe that is to have the name.
        """
        form, made = fold(name), slug(name)
        held = [self.find(form), *self.once.get(form, ()), *(t for t in self.by_name.values() if t.id == made)]
        return next((t for t in held if t is not None and not (t.is_recipe and t.id == own)), None)

    def also(self, thing: Thing) -> Names:
        """The same with one thing more."""
        more = copy(self)
        more.by_name = {**self.by_name, fold(thing.name): thing}
        return more

    def meant(self, text: str) -> Thing | None:
        """What a line names; None where it names nothing that is known, or can't be read."""
        try:
            found = self._matched(self.parts(text))
        except ReadError:
            return None
        return found[0] if found else None

    def is_measure(self, word: str) -> bool:
        """Whether a word of a line is a unit, a whole batch, or some thing's own measure."""
        plain = word.lower()
        forms = {plain, plain.removesuffix("s"), plain.removesuffix("es")}
        return plain in BATCHES or is_unit(plain, self.system) or bool(forms & self._own)

    def near(self, name: str) -> list[str]:
        """Names that may be meant by one, as they are written."""
        return list(dict.fromkeys(self.by_name[found].name for found in near_names(name, self.by_name)))

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
            UnknownName: nothing has the name; SharedName: several had it, none has it now.
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

    def _matched(self, said: SaidLine) -> tuple[Thing, str] | None:
        """The thing that a line names, the longest name first, and how it is prepared; None where there is none."""
        pairs = ((self.find(name), prep) for name, prep in said.names())
        return next(((thing, prep) for thing, prep in pairs if thing is not None), None)

    def _named(self, said: SaidLine) -> tuple[Thing, str]:
        """The same; what is wrong with the name where there is none."""
        found = self._matched(said)
        if found is not None:
            return found
        for name, _ in said.names():
            if self.had(name):
                raise SharedName(name, [thing.name for thing in self.had(name)])
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


_kept: dict[str, tuple[tuple[int, int], dict[str, list[str]]]] = {}


def earlier_names(connection: sqlite3.Connection) -> dict[str, list[str]]:
    """Recipe -> every name that it ever had, the first one first; of those alone that had another.

    Kept until a load or a promotion writes how a recipe stands: it looks through the whole record of that.
    """
    (path,) = connection.execute("select file from pragma_database_list where name = 'main'").fetchone()
    stamp = connection.execute(
        "select coalesce((select max(id) from book_versions), 0), coalesce((select max(id) from loads), 0)"
    ).fetchone()
    if not path or connection.in_transaction:
        return _earlier(connection)
    kept = _kept.get(path)
    if kept is None or kept[0] != stamp:
        kept = _kept[path] = (stamp, _earlier(connection))
    return {recipe: [*names] for recipe, names in kept[1].items()}


def _earlier(connection: sqlite3.Connection) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for recipe, name in connection.execute(load("stillroom.db")["earlier_names"]):
        names = found.setdefault(recipe, [])
        names += [name] * (name not in names)
    return found
