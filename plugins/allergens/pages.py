"""/guest, /dish/ID and the matrix: what the file says, judged and shown."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import groupby
from typing import Any
from urllib.parse import urlencode

from markupsafe import Markup
from stillroom.db.allergen_facts import NOT_DECLARED, STRENGTH, UNKNOWN
from stillroom.db.allergen_judging import Asked, Dish, Reason, Verdict, cooked_today
from stillroom.db.allergen_kitchen import Behind, Kitchen, kitchen
from stillroom.db.allergen_words import split_words
from stillroom.db.named_sql import asker
from stillroom.plugins.allergens.draw import draw
from stillroom.plugins.core.auth import decide, role_of
from stillroom.plugins.core.export import page_or_file
from stillroom.plugins.core.pages import NotFound, page, query

COMMON = ("garlic", "alcohol", "pork")
MOST_ASKED = 40

Short = tuple[Any, ...]


ask = asker("stillroom.plugins.allergens")


@dataclass(frozen=True)
class Guest:
    """Every dish on the menu under its verdict, and the choices on the form.

    avoid: all that the guest names. ticked: those with a box. typed: the others, as text. read_as: what a word that
    has no box was taken for. unknown: words that mean nothing here. short: dish -> what is short or out in it today.
    """

    behind: Behind
    regime: str
    avoid: list[str]
    said: list[str]
    ticked: list[str]
    typed: str
    choices: list[tuple[str, str]]
    more: list[tuple[str, str]]
    read_as: list[tuple[str, list[str]]]
    unknown: list[str]
    verdicts: list[Verdict]
    short: dict[str, list[str]]

    def of(self, *words: str) -> list[Verdict]:
        """The dishes under some verdicts, in the order of the words."""
        order = {w: n for n, w in enumerate(words)}
        return sorted((v for v in self.verdicts if v.verdict in order), key=lambda v: order[v.verdict])

    @property
    def query(self) -> str:
        """What the guest avoids, as an address says it."""
        return _query(self.avoid)

    @property
    def is_shellfish_two(self) -> bool:
        """Whether what a guest calls shellfish is two boxes here."""
        return {"crustacean", "mollusc"} <= {code for code, _ in self.choices}

    @cached_property
    def body(self) -> Markup:
        """The page within the frame, drawn once."""
        return draw("guest_body.html", self)

    def as_json(self) -> dict[str, Any]:
        """The answer as README promises it."""
        return {
            "as_of": self.behind.today.isoformat(), "regime": self.regime, "avoid": self.avoid,
            "dishes": [_dish_row(v) for v in self.verdicts],
        }  # fmt: skip


def _query(avoid: Iterable[str]) -> str:
    return urlencode([("avoid", one) for one in avoid])


def _dish_row(verdict: Verdict) -> dict[str, Any]:
    return {
        "id": verdict.dish.id, "name": verdict.dish.name, "verdict": verdict.verdict,
        "leave_off": list(verdict.leave_off), "reasons": [_reason_row(r) for r in verdict.reasons],
    }  # fmt: skip


def _reason_row(reason: Reason) -> dict[str, Any]:
    return {"allergen": reason.allergen, "presence": reason.presence, "path": list(reason.path)}


@page("allergens/guest.html", needs="guest", parts="guest")
async def guest(datasette: Any, request: Any) -> Guest:
    typed = split_words(request.args.get("ingredient") or "")
    avoid = list(dict.fromkeys([*(a for a in request.args.getlist("avoid") if a.strip()), *typed]))

    def work(connection: sqlite3.Connection) -> Guest:
        here, short = kitchen(connection), tuple(ask(connection, "short"))
        return here.once(("guest", here.today, tuple(avoid), short), lambda: _guest(here, avoid, short))

    return await query(datasette, work)


def _guest(here: Kitchen, avoid: list[str], short: Iterable[Short]) -> Guest:
    listed = {code for code, _ in here.groups}
    more = [*((w, w) for w in COMMON), *((i, name) for i, name in here.allergens if i not in listed)]
    boxes = dict([*here.groups, *more])
    read = {said: here.vocabulary.read(said) for said in avoid[:MOST_ASKED]}
    asked = tuple(dict.fromkeys(one for found in read.values() for one in found))
    if len(avoid) > MOST_ASKED:
        asked = (*asked, Asked(f"more than {MOST_ASKED} things", is_known=False))
    verdicts = here.judged(here.today, asked)
    typed = [said for said in avoid if said not in boxes]
    return Guest(
        _behind(here, verdicts), here.settings["regime"], avoid, [boxes.get(a, a) for a in avoid],
        [a for a in avoid if a in boxes], ", ".join(typed), list(here.groups), more, _read_as(typed, read),
        [one.word for one in asked if not one.is_known], verdicts, _short(short, [v.dish for v in verdicts]),
    )  # fmt: skip


def _read_as(typed: list[str], read: dict[str, tuple[Asked, ...]]) -> list[tuple[str, list[str]]]:
    """Words without a box that were taken for more than themselves."""
    words = {said: [one.word for one in read.get(said, ()) if one.is_known and one.allergens] for said in typed}
    return [(said, found) for said, found in words.items() if found and found != [said]]


def _behind(here: Kitchen, verdicts: list[Verdict]) -> Behind:
    oldest = min((v.oldest_review for v in verdicts if v.oldest_review), default=None)
    return Behind(here.today, here.loaded_on, oldest)


def _short(short: Iterable[Short], dishes: list[Dish]) -> dict[str, list[str]]:
    """Dish -> what is written down as short or out today: the dish itself, or something in it."""
    now = {thing: (name, state) for thing, name, state in short}
    found = {}
    for dish in dishes if now else ():
        inside = dict.fromkeys(x for way in dish.ways for x in (*way.recipes, way.item) if x in now)
        lines = [f"{now[dish.id][1]} today"] if dish.id in now else []
        found[dish.id] = [*lines, *(f"{now[x][0]}: {now[x][1]} today" for x in inside)]
    return {dish: lines for dish, lines in found.items() if lines}


@dataclass(frozen=True)
class Declared:
    """One allergen of the regime's list in a dish."""

    code: str
    allergen: str
    presence: str
    note: str
    reasons: tuple[Reason, ...]


@dataclass(frozen=True)
class Part:
    """One line of a plate."""

    line: str
    can_be_left_off: bool


@dataclass(frozen=True)
class Label:
    """One item of a dish and the oldest review of its labels; None: a label of it has not been read."""

    item: str
    name: str
    reviewed_on: str | None


@dataclass(frozen=True)
class DishPage:
    """One dish: what is on the plate, what every allergen of the regime comes to, and the reviews behind it.

    back: what the guest avoids on whose answer the dish was opened, as an address says it; '' where there is none.
    """

    id: str
    name: str
    section: str
    regime: str
    behind: Behind
    is_on_menu: bool
    short: list[str]
    components: list[Part]
    declared: list[Declared]
    minimums: list[dict[str, Any]]
    labels: list[Label]
    may_open_items: bool
    back: str = ""

    @property
    def summary(self) -> list[tuple[str, list[str]]]:
        """(presence, allergens) of all that is more than not declared, strongest first."""
        strong = [d for d in self.declared if d.presence != NOT_DECLARED]
        return [(word, [d.allergen for d in found]) for word, found in groupby(strong, key=lambda d: d.presence)]

    def as_json(self) -> dict[str, Any]:
        """The page as data."""
        allergens = [
            {"allergen": d.code, "presence": d.presence, "note": d.note, "reasons": [_reason_row(r) for r in d.reasons]}
            for d in self.declared
        ]
        return {
            "id": self.id, "name": self.name, "section": self.section, "as_of": self.behind.today.isoformat(),
            "regime": self.regime, "on_menu": self.is_on_menu, "short": self.short,
            "components": [{"line": p.line, "can_be_left_off": p.can_be_left_off} for p in self.components],
            "allergens": allergens, "minimums": self.minimums,
            "labels": [{"item": x.item, "name": x.name, "reviewed_on": x.reviewed_on} for x in self.labels],
        }  # fmt: skip


@page("allergens/dish.html", needs="dish", parts="dish")
async def dish(datasette: Any, request: Any) -> DishPage:
    may_open_items = decide(role_of(request.actor), "short")
    wanted = request.url_vars["dish"]
    back = _query(a for a in request.args.getlist("avoid")[:MOST_ASKED] if a.strip())
    found = await query(datasette, lambda connection: _dish(connection, wanted, may_open_items))
    return replace(found, back=back)


def _dish(connection: sqlite3.Connection, wanted: str, may_open_items: bool) -> DishPage:
    here = kitchen(connection)
    found = next((d for d in here.facts.dishes if d.id == wanted), None)
    if found is None:
        raise NotFound("There is no dish of that name. The guest page lists all that are on today's menu.")
    menu = here.menu(here.today)
    verdicts = here.declared(wanted)
    recipes = json.dumps(sorted(cooked_today([found])))
    columns = ("recipe", "food_class", "min_temp_f", "hold_seconds", "edition", "section", "basis")
    minimums = [dict(zip(columns, row, strict=True)) for row in ask(connection, "minimums", recipes=recipes)]
    behind = _behind(here, list(verdicts.values()))
    short = _short(ask(connection, "short"), [found]).get(found.id, [])
    return DishPage(
        found.id, found.name, found.section, here.settings["regime"], behind, found in menu, short,
        _parts(connection, wanted), _declared(here, verdicts), minimums, _labels(here, found), may_open_items,
    )  # fmt: skip


def _parts(connection: sqlite3.Connection, dish_id: str) -> list[Part]:
    return [Part(line, bool(off)) for line, off in ask(connection, "plate", dish=dish_id)]


def _declared(here: Kitchen, verdicts: dict[str, Verdict]) -> list[Declared]:
    """The regime's allergens, strongest first."""
    rows = [Declared(code, name, _presence(verdicts[code]), verdicts[code].note, verdicts[code].reasons)
            for code, name in here.groups]  # fmt: skip
    return sorted(rows, key=lambda d: STRENGTH.index(d.presence))


def _labels(here: Kitchen, found: Dish) -> list[Label]:
    """Every item of a dish, those with an unread label first, then from the oldest review on."""
    names = {way.item: way.names[-1] for way in found.ways}
    facts = {item: here.facts.presence.get(item, UNKNOWN) for item in names}
    rows = [Label(i, names[i], fact.oldest_review if fact.is_reviewed else None) for i, fact in facts.items()]
    return sorted(rows, key=lambda label: (label.reviewed_on or "", label.name))


def _presence(verdict: Verdict) -> str:
    """The strongest presence in a dish as it is served, nothing left off."""
    return verdict.reasons[0].presence if verdict.reasons else NOT_DECLARED


@dataclass(frozen=True)
class Matrix:
    """Dishes on today's menu by the regime's allergens. rows: id, name, one presence for each of `columns`."""

    behind: Behind
    regime: str
    columns: list[tuple[str, str]]
    rows: list[tuple[str, str, list[str]]]

    def as_json(self) -> dict[str, Any]:
        """The table as data."""
        codes = [code for code, _ in self.columns]
        dishes = [{"id": i, "name": n, "presence": dict(zip(codes, cells, strict=True))} for i, n, cells in self.rows]
        oldest = self.behind.oldest
        return {
            "as_of": self.behind.today.isoformat(),
            "regime": self.regime,
            "oldest_review": oldest,
            "dishes": dishes,
        }


def _matrix(connection: sqlite3.Connection) -> Matrix:
    here = kitchen(connection)
    day = here.today
    judged = [here.judged(day, (here.vocabulary.codes[code],)) for code, _ in here.groups]
    rows = [
        (found.id, found.name, [_presence(column[n]) for column in judged]) for n, found in enumerate(here.menu(day))
    ]
    return Matrix(
        _behind(here, [v for column in judged for v in column]), here.settings["regime"], list(here.groups), rows
    )


@page("allergens/matrix.html", needs="dish")
async def matrix(datasette: Any, request: Any) -> Any:
    answer = await query(datasette, _matrix)
    behind = answer.behind
    columns = ["dish", *(name for _, name in answer.columns), "records of", "oldest label read", "caution"]
    ends = [str(behind.loaded_on or ""), behind.oldest or "", "shared kitchen: confirm with the chef"]
    return await page_or_file(
        request, answer, f"allergens-{behind.today}", columns,
        lambda: [[name, *cells, *ends] for _, name, cells in answer.rows],
    )  # fmt: skip
