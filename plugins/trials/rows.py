"""From the kitchen's file to what the trial pages show: versions read against the names of today."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from typing import Any

from stillroom.db.allergen_facts import NOT_DECLARED, STRENGTH
from stillroom.db.allergen_judging import Dish, Facts, Reason, Verdict, Way, cooked_today, judge
from stillroom.db.allergen_kitchen import Kitchen, kitchen
from stillroom.db.drafts import Checked, Draft, DraftLine, check_in
from stillroom.db.kitchen import settings
from stillroom.db.limits import CookingMinimum
from stillroom.db.named_sql import asker
from stillroom.db.promotions import Promotion, standing, version_of
from stillroom.db.recipe_lines import names_of
from stillroom.plugins.core.tried import Tried, TriedLine, Worth, worth_of
from stillroom.plugins.trials.behind import words_behind
from stillroom.plugins.trials.compute import Part, mean
from stillroom.plugins.trials.money import Money
from stillroom.plugins.trials.said import score as score_words
from stillroom.plugins.trials.said import step_words

NO_ITEM = "a line that can't be read: "  # no id of an item has a space


@dataclass(frozen=True)
class Note:
    """One person's tasting note."""

    version: int
    on: str
    who: str
    score: int | None
    words: str
    decision: str


@dataclass(frozen=True)
class Cooked:
    """How one recipe within a version is cooked: its steps, and the minimums that it is held to."""

    recipe: str
    steps: tuple[str, ...]
    minimums: tuple[CookingMinimum, ...]

    @property
    def has_bath(self) -> bool:
        """Whether it is cooked in a low-temperature bath."""
        return any(step.startswith("bath") for step in self.steps)


@dataclass(frozen=True)
class Head:
    """One version in short: when, who, what is new in it, what it calls the dish, and what people made of it."""

    number: int
    based_on: int | None
    on: str
    who: str
    note: str
    called: str
    notes: tuple[Note, ...]

    @property
    def score(self) -> Fraction | None:
        """Mean score; None where nobody gave one."""
        return mean([note.score for note in self.notes])

    @property
    def decision(self) -> str:
        """The last word on it; '' where none was said."""
        return next((note.decision for note in reversed(self.notes) if note.decision), "")

    @property
    def said_score(self) -> str:
        return score_words(self.score)


@dataclass(frozen=True)
class Version(Head):
    """One version with all that is known of it.

    Attributes:
        allergens: (code, name, presence, reasons), the strongest first within the regime's order.
        kinds: name of an allergen that the list takes in under another name (walnut: nuts) -> presence.
        oldest: the oldest label review behind the allergens; None: there is none.
        worth: cost of one unit of yield; None: not for this role, or nobody here knows prices.
        price: of one unit of yield on the menu [money]; None where it is not said, or not for this role.
        behind: number of a line -> what words behind its name point to, and nothing brings.
    """

    draft: Draft
    checked: Checked
    parts: tuple[Part, ...]
    allergens: tuple[tuple[str, str, str, tuple[Reason, ...]], ...]
    kinds: Mapping[str, str]
    oldest: str | None
    worth: Worth | None
    price: Fraction | None
    cooked: tuple[Cooked, ...]
    behind: dict[int, str]

    @property
    def money(self) -> Money:
        return Money(self.draft.kind, self.checked.unit or "each", self.worth, self.price)

    @property
    def strongest(self) -> list[tuple[str, str, str, tuple[Reason, ...]]]:
        """Allergens that it has, or may have, the strongest first."""
        return sorted((a for a in self.allergens if a[2] != NOT_DECLARED), key=lambda a: STRENGTH.index(a[2]))

    @property
    def others(self) -> list[str]:
        """Names of all others."""
        return [name for _, name, presence, _ in self.allergens if presence == NOT_DECLARED]

    @property
    def presence(self) -> dict[str, str]:
        """Allergen's name -> presence, kinds among them."""
        return {**{name: presence for _, name, presence, _ in self.allergens}, **self.kinds}


@dataclass(frozen=True)
class Trial:
    """A draft with its versions, oldest first, and its promotions.

    Attributes:
        name: what its last version says.
        heads: every version in short; versions: those that were asked for, whole.
        dish_id, dish: the recipe that it is of, and what that is called now; '' where there is none yet.
    """

    id: str
    name: str
    dish_id: str
    dish: str
    heads: tuple[Head, ...]
    versions: tuple[Version, ...]
    promotions: tuple[Promotion, ...]

    @property
    def latest(self) -> int:
        return self.heads[-1].number


ask = asker("stillroom.plugins.trials")


def read_trial(connection: sqlite3.Connection, trial: str, may_cost: bool, only: Sequence[int]) -> Trial | None:
    """A trial with some of its versions whole; None where there is none.

    Args:
        only: numbers of the versions wanted whole: each is read, judged and costed, which takes a while for hundreds.
    """
    heads = _heads(connection, trial)
    if not heads:
        return None
    drafts = {n: d for n in sorted({*only}) if (d := version_of(connection, trial, n)) is not None}
    names = names_of(connection)
    checks = {n: check_in(connection, d, trial, names) for n, d in drafts.items()}
    worth = _worth(connection, checks) if may_cost else {}
    here = kitchen(connection)
    dish = connection.execute("select id, name from recipes where id = ?", (trial,)).fetchone() or ("", "")
    judged = {n: _judged(here, trial, n, drafts[n], checks[n]) for n in drafts}
    kinds = {n: _kinds(here, trial, n, drafts[n], checks[n]) for n in drafts}
    programme = _programmes(connection, {n: _within(here, trial, c) for n, c in checks.items()})
    behind = words_behind(connection, here, {n: (d, checks[n]) for n, d in drafts.items()})
    short = {head.number: vars(head) for head in heads}
    versions = tuple(
        Version(
            **short[n], draft=draft, checked=checks[n], parts=parts_of(draft, checks[n]),
            allergens=_allergens(here, judged[n]), kinds=kinds[n], oldest=_oldest(judged[n]),
            worth=worth.get(str(n)), price=_price(checks[n]) if may_cost else None, cooked=programme[n],
            behind=behind.get(n, {}),
        )
        for n, draft in drafts.items()
    )  # fmt: skip
    promoted = tuple(p for rows in standing(connection).values() for p in rows if p.trial_id == trial)
    return Trial(trial, heads[-1].called, dish[0], dish[1], heads, versions, promoted)


def _heads(connection: sqlite3.Connection, trial: str) -> tuple[Head, ...]:
    """Every version of a trial in short, oldest first; () where there is no such trial."""
    notes: dict[int, list[Note]] = {}
    for row in ask(connection, "tastings", trial=trial):
        notes.setdefault(row[0], []).append(Note(*row[:6]))
    rows = {row[0]: row for row in ask(connection, "versions", trial=trial)}
    return tuple(
        Head(n, based_on, on, who, note, called, tuple(notes.get(n, ())))
        for n, based_on, _, on, who, note, called, _ in rows.values()
    )


def parts_of(draft: Draft, checked: Checked) -> tuple[Part, ...]:
    """The lines of a version ready to be laid beside another's."""
    known = {id(c.line): c for c in checked.components}
    return tuple(_part(line, known.get(id(line)), checked.made) for line in draft.lines)


def _part(line: DraftLine, component: Any, made: Fraction | None) -> Part:
    more = tuple(str(line).split(" | ")[1:])
    if component is None or made is None:
        return Part(line.text, line.text, str(line), None, more)
    thing = component.read.thing
    return Part(f"{thing.is_recipe} {thing.id}", thing.name, str(line), component.read.quantity / made, more)


def _worth(connection: sqlite3.Connection, checks: Mapping[int, Checked]) -> dict[str, Worth]:
    """Cost of every version that can be read; one that can't says so."""
    tried = []
    for number, checked in checks.items():
        if not checked.problems and checked.made:
            lines = tuple(
                TriedLine(None if c.read.thing.is_recipe else c.read.thing.id,
                          c.read.thing.id if c.read.thing.is_recipe else None, c.read.quantity, c.edible)
                for c in checked.components
            )  # fmt: skip
            tried.append(Tried(str(number), checked.made, checked.unit, lines))
    found = worth_of(connection, tried)
    unread = {str(n): Worth(None, ("a line that can't be read",)) for n, c in checks.items() if c.problems}
    return {**found, **unread}


def _price(checked: Checked) -> Fraction | None:
    """Menu price of one unit of yield; a price is said for a plate."""
    return None if checked.price is None else Fraction(checked.price)


def _judged(here: Kitchen, trial: str, number: int, draft: Draft, checked: Checked) -> dict[str, Verdict]:
    """Code of the regime's list -> the verdict of one version, beside all that is on today's menu."""
    dish, facts = with_draft(here, trial, number, draft, checked)
    cooked = _cooked(here, trial, dish)
    return {code: judge(dish, [here.vocabulary.codes[code]], facts, cooked) for code, _ in here.groups}


def _cooked(here: Kitchen, trial: str, dish: Dish) -> frozenset[str]:
    return cooked_today([*(d for d in here.menu(here.today) if d.id != trial), dish])


def _kinds(here: Kitchen, trial: str, number: int, draft: Draft, checked: Checked) -> dict[str, str]:
    """Name of each kind (`Kitchen.kinds`) -> how strongly one version has it."""
    dish, facts = with_draft(here, trial, number, draft, checked)
    return kinds_in(here, dish, facts, _cooked(here, trial, dish))


def kinds_in(here: Kitchen, dish: Dish, facts: Facts, cooked: frozenset[str]) -> dict[str, str]:
    """Name of each kind (`Kitchen.kinds`) -> how strongly a dish has it; one that it has not is not there."""
    names = dict(here.allergens)
    found = {names[i]: judge(dish, [here.vocabulary.codes[i]], facts, cooked).reasons for i in here.kinds}
    return {name: reasons[0].presence for name, reasons in found.items() if reasons}


def taken_in(here: Kitchen) -> dict[str, tuple[str, ...]]:
    """Name of each kind -> names of the regime's list that take it in."""
    names = dict(here.allergens)
    return {names[i]: groups for i, groups in here.kinds.items()}


def with_draft(here: Kitchen, trial: str, number: int, draft: Draft, checked: Checked) -> tuple[Dish, Facts]:
    """A version as a dish, and the kitchen's facts with it among them. What can't be read is not reviewed."""
    known = {id(c.line): c for c in checked.components}
    ways: list[Way] = []
    removable: dict[int, str] = {}
    for n, line in enumerate(draft.lines, 1):
        component = known.get(id(line))
        mark = -n  # lines of recipes count up from 1
        name = line.text if component is None else component.read.thing.name
        if line.can_be_left_off:
            removable[mark] = name
        ways += _ways(here, mark, line, component)
    dish = Dish(f"{trial} {number}", draft.name, draft.section, tuple(ways))
    surfaces = {s: users | {dish.id} if s in draft.surfaces else users for s, users in here.facts.surfaces.items()}
    surfaces |= {s: frozenset({dish.id}) for s in draft.surfaces if s not in surfaces}
    facts = replace(
        here.facts, removable=here.facts.removable | set(removable),
        line_names={**here.facts.line_names, **removable}, surfaces=surfaces,
        recipe_names={**here.facts.recipe_names, dish.id: draft.name},
        recipe_items={**here.facts.recipe_items, dish.id: frozenset(w.item for w in ways)},
    )  # fmt: skip
    return dish, facts


def _ways(here: Kitchen, mark: int, line: DraftLine, component: Any) -> Iterable[Way]:
    """Every path that one line opens."""
    if component is None:
        return [Way(NO_ITEM + line.text, (line.text,), (mark,), ())]
    thing = component.read.thing
    if not thing.is_recipe:
        return [Way(thing.id, (thing.name,), (mark,), ())]
    below = here.ways.get(thing.id, ())
    if not below:
        return [Way(NO_ITEM + thing.name, (thing.name, "nothing is written down for it"), (mark,), (thing.id,))]
    return [Way(w.item, (thing.name, *w.names), (mark, *w.components), (thing.id, *w.recipes)) for w in below]


def _allergens(here: Kitchen, judged: Mapping[str, Verdict]) -> tuple[tuple[str, str, str, tuple[Reason, ...]], ...]:
    rows = []
    for code, name in here.groups:
        reasons = judged[code].reasons
        rows.append((code, name, reasons[0].presence if reasons else NOT_DECLARED, reasons))
    return tuple(rows)


def _oldest(judged: Mapping[str, Verdict]) -> str | None:
    return min((v.oldest_review for v in judged.values() if v.oldest_review), default=None)


def _within(here: Kitchen, trial: str, checked: Checked) -> list[str]:
    """Ids of the recipes that a version is cooked with, the dish itself first."""
    found = {trial: None}
    for component in checked.components:
        if component.read.thing.is_recipe:
            found[component.read.thing.id] = None
            found |= dict.fromkeys(r for way in here.ways.get(component.read.thing.id, ()) for r in way.recipes)
    return list(found)


def _programmes(connection: sqlite3.Connection, recipes: Mapping[int, list[str]]) -> dict[int, tuple[Cooked, ...]]:
    """Version -> how what is in it is cooked."""
    every = json.dumps(sorted({r for ids in recipes.values() for r in ids}))
    is_metric = settings(connection)["units"] == "metric"
    steps: dict[str, list[str]] = {}
    names: dict[str, str] = {}
    for recipe, name, *step in ask(connection, "cooked", recipes=every):
        names[recipe] = name
        steps.setdefault(recipe, []).append(step_words(step, is_metric=is_metric))
    minimums: dict[str, list[CookingMinimum]] = {}
    for recipe, *row in ask(connection, "minimums", recipes=every):
        minimums.setdefault(recipe, []).append(CookingMinimum(*row))
    return {
        n: tuple(Cooked(names[r], tuple(steps[r]), tuple(minimums.get(r, ()))) for r in ids if r in steps)
        for n, ids in recipes.items()
    }


def today_of(connection: sqlite3.Connection) -> date:
    """The kitchen's day."""
    return kitchen(connection).today
