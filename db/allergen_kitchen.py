"""From the kitchen's file to facts; kept until a load changes them, or goods come that nobody has seen before."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any, TypeVar

from stillroom.db.allergen_facts import read_presence
from stillroom.db.allergen_judging import Asked, Dish, Facts, Replacement, Verdict, Way, cooked_today, judge, judge_all
from stillroom.db.allergen_words import Vocabulary, Words, listed
from stillroom.db.kitchen import day_of, settings
from stillroom.db.named_sql import load
from stillroom.db.names import words_of

KEEP_ANSWERS = 256

T = TypeVar("T")
Stamp = tuple[int, str, int]
Group = tuple[str, str, frozenset[str]]
Allergen = tuple[str, str, str | None, str]


@dataclass(frozen=True)
class Behind:
    """Where an allergen answer comes from: the kitchen's day, the day of the load, the oldest review behind it."""

    today: date
    loaded_on: date | None
    oldest: str | None


@dataclass(frozen=True)
class Kitchen:
    """Everything the allergen pages ask of one load, and the answers already given from it."""

    facts: Facts
    ways: Mapping[str, tuple[Way, ...]]
    seasons: dict[str, tuple[str, str]]
    settings: dict[str, str]
    loaded_on: date | None
    allergens: tuple[tuple[str, str], ...]
    groups: tuple[tuple[str, str], ...]
    vocabulary: Vocabulary
    answers: dict[Hashable, Any] = field(default_factory=dict)

    @property
    def today(self) -> date:
        """The kitchen's day."""
        return day_of(self.settings)

    def recipe(self, recipe: str) -> Dish:
        """Any recipe, judged as a dish is; without ways where nothing is written down."""
        return Dish(recipe, self.facts.recipe_names[recipe], "", self.ways.get(recipe, ()))

    def declared(self, recipe: str) -> dict[str, Verdict]:
        """Code of the regime's list -> the verdict of one recipe, beside all that is on today's menu."""

        def work() -> dict[str, Verdict]:
            found = self.recipe(recipe)
            cooked = cooked_today([*self.menu(self.today), found])
            return {code: judge(found, [self.vocabulary.codes[code]], self.facts, cooked) for code, _ in self.groups}

        return self.once(("declared", self.today, recipe), work)

    @property
    def kinds(self) -> dict[str, tuple[str, ...]]:
        """Code of each allergen that an item declares and the regime's list does not name -> names that take it in.

        Hazelnut and walnut are both nuts: a dish that changes one for the other declares the same and is another dish.
        """

        def work() -> dict[str, tuple[str, ...]]:
            said = {a for fact in self.facts.presence.values() for a in (*fact.contains, *fact.may)}
            own = {word for group in self.groups for word in group}
            codes = self.vocabulary.codes
            return {i: tuple(group for code, group in self.groups if i in codes[code].allergens)
                    for i, name in self.allergens if i in said and own.isdisjoint({i, name})}  # fmt: skip

        return self.once("kinds", work)

    def menu(self, day: date) -> tuple[Dish, ...]:
        """Dishes on the menu of a day."""
        iso = day.isoformat()
        return tuple(d for d in self.facts.dishes if self.seasons[d.id][0] <= iso <= self.seasons[d.id][1])

    def judged(self, day: date, asked: tuple[Asked, ...]) -> list[Verdict]:
        """Verdicts of the whole menu."""
        menu = self.menu(day)
        return self.once((day, asked), lambda: judge_all(menu, asked, self.facts, cooked_today(menu)) if asked else [])

    def once(self, question: Hashable, answer: Callable[[], T]) -> T:
        """The same question is answered once for a load: what it depends on beside the load stands in the question."""
        found: T | None = self.answers.get(question)
        if found is None:
            found = answer()
            if len(self.answers) >= KEEP_ANSWERS:
                self.answers.clear()
            self.answers[question] = found
        return found


_kept: dict[str, tuple[Stamp, Kitchen]] = {}


def kitchen(connection: sqlite3.Connection) -> Kitchen:
    """The facts of the newest load."""
    (path,) = connection.execute("select file from pragma_database_list where name = 'main'").fetchone()
    kept = _kept.get(path)
    if kept is None or kept[0] != _stamp(connection):
        with _snapshot(connection):
            kept = (_stamp(connection), _read(connection))
        _kept[path] = kept
    return kept[1]


def _ask(connection: sqlite3.Connection, name: str, **said: Any) -> list[tuple[Any, ...]]:
    return connection.execute(load("stillroom.db")[f"facts_{name}"], said).fetchall()


def _stamp(connection: sqlite3.Connection) -> Stamp:
    stamp: Stamp = connection.execute(
        "select count(*), coalesce(max(loaded_at), ''),"
        " (select count(*) from deliveries where product_id is null and description <> '') from loads"
    ).fetchone()
    return stamp


@contextmanager
def _snapshot(connection: sqlite3.Connection) -> Iterator[None]:
    """All that is read within comes from one load, whatever is loaded meanwhile."""
    if connection.in_transaction:
        yield
        return
    connection.execute("begin")
    try:
        yield
    finally:
        connection.rollback()


def _read(connection: sqlite3.Connection) -> Kitchen:
    said = settings(connection)
    allergens: list[Allergen] = _ask(connection, "allergens")
    groups = _groups(connection, said["regime"])
    dishes = _ask(connection, "dishes")
    ways = _ways(connection)
    (loaded_at,) = connection.execute("select max(loaded_at) from loads").fetchone()
    loaded_on = None if loaded_at is None else day_of(said, datetime.fromisoformat(loaded_at))
    return Kitchen(
        _facts(connection, dishes, ways), ways, {d[0]: (d[3], d[4]) for d in dishes}, said, loaded_on,
        tuple((i, name) for i, name, _, _ in allergens), tuple((code, name.lower()) for code, name, _ in groups),
        _vocabulary(connection, allergens, groups),
    )  # fmt: skip


def _facts(
    connection: sqlite3.Connection, dishes: list[tuple[Any, ...]], ways: Mapping[str, tuple[Way, ...]]
) -> Facts:
    lines = _ask(connection, "lines")
    items = {recipe: frozenset(way.item for way in found) for recipe, found in ways.items()}
    return Facts(
        dishes=tuple(Dish(i, name, section, ways.get(i, ())) for i, name, section, _, _ in dishes),
        presence=read_presence(connection), recipe_items=items,
        recipe_names=dict(connection.execute("select id, name from recipes").fetchall()),
        removable=frozenset(line for line, _, _, off in lines if off), line_names={i: name for i, name, _, _ in lines},
        replacements=_replacements(connection, ways), surfaces=_gathered(_ask(connection, "surfaces")),
    )  # fmt: skip


def _ways(connection: sqlite3.Connection) -> dict[str, tuple[Way, ...]]:
    """Recipe -> its paths."""
    subs: dict[int, str | None] = {line: sub for line, _, sub, _ in _ask(connection, "lines")}
    found: dict[str, list[Way]] = {}
    for recipe, item, path, components in _ask(connection, "paths"):
        ids = tuple(json.loads(components))
        through = tuple(sub for sub in map(subs.get, ids) if sub is not None)
        found.setdefault(recipe, []).append(Way(item, tuple(json.loads(path)), ids, through))
    return {recipe: tuple(ways) for recipe, ways in found.items()}


def _replacements(
    connection: sqlite3.Connection, ways: Mapping[str, tuple[Way, ...]]
) -> dict[int, tuple[Replacement, ...]]:
    found: dict[int, tuple[Replacement, ...]] = {}
    for line, name, item, recipe in _ask(connection, "substitutes"):
        if recipe is None:
            option = Replacement(name, frozenset({item}))
        else:
            inside = ways.get(recipe, ())
            cooked = frozenset(r for way in inside for r in way.recipes) | {recipe}
            option = Replacement(name, frozenset(way.item for way in inside), cooked)
        found[line] = (*found.get(line, ()), option)
    return found


def _gathered(pairs: Iterable[tuple[Any, ...]]) -> dict[str, frozenset[str]]:
    found: dict[str, set[str]] = {}
    for key, value in pairs:
        found.setdefault(key, set()).add(value)
    return {key: frozenset(values) for key, values in found.items()}


def _groups(connection: sqlite3.Connection, regime: str) -> list[Group]:
    """The regime's own list: code, name, allergens."""
    rows = _ask(connection, "groups", regime=regime)
    takes_in = _gathered((code, allergen) for code, _, allergen in rows)
    return [(code, name, takes_in[code]) for code, name in dict.fromkeys((code, name) for code, name, _ in rows)]


def _vocabulary(connection: sqlite3.Connection, allergens: list[Allergen], groups: list[Group]) -> Vocabulary:
    family = _families(allergens)
    single = {i: Asked(name, family[i]) for i, name, _, _ in allergens}
    listed_codes = {code: _group(code, name, ids, family) for code, name, ids in groups}
    codes = {**single, **listed_codes}
    names = {words_of(asked.word): asked for asked in (*single.values(), *listed_codes.values())}
    others = [(words_of(word), codes[i]) for i, _, _, also in allergens for word in also.split(";")]
    labels: dict[Words, tuple[Asked, ...]] = {}
    for word, allergen in _ask(connection, "label_words"):
        labels[words_of(word)] = (*labels.get(words_of(word), ()), codes[allergen])
    texts: dict[str, list[Words]] = {}
    for item, kind, text in _ask(connection, "item_texts"):
        texts.setdefault(item, []).extend(listed(text) if kind == "ingredients" else [words_of(text)])
    found = {item: tuple(words) for item, words in texts.items()}
    return Vocabulary(codes, names, tuple((words, asked) for words, asked in others if words), labels, found)


def _group(code: str, name: str, ids: frozenset[str], family: Mapping[str, frozenset[str]]) -> Asked:
    """An entry of the regime's list: what the law takes in, and all that a guest means by its name.

    The EU list of nuts leaves out pine nuts; a guest who avoids nuts does not.
    """
    return Asked(name.lower(), ids.union(family.get(code, ids)))


def _families(allergens: list[Allergen]) -> dict[str, frozenset[str]]:
    """Allergen -> itself, its kinds, and the groups that it may be declared as."""
    parent = {i: above for i, _, above, _ in allergens}
    above = {i: _up(i, parent) for i in parent}
    return {i: above[i].union(x for x in parent if i in above[x]) for i in parent}


def _up(allergen: str, parent: Mapping[str, str | None]) -> frozenset[str]:
    """An allergen and the groups above it."""
    chain = {allergen}
    at = parent.get(allergen)
    while at is not None and at not in chain:
        chain.add(at)
        at = parent.get(at)
    return frozenset(chain)
