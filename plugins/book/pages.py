"""/recipes, /recipe/ID and its large-type reading view: what the file says, at the size asked for."""

from __future__ import annotations

import math
import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Any
from urllib.parse import urlencode

from stillroom.db.allergen_kitchen import kitchen
from stillroom.db.cook_units import Style, plenty, style_of
from stillroom.db.date_marks import DATE_MARK, MARK_DAYS, Life, count
from stillroom.db.exact import read_exact
from stillroom.db.kitchen import settings
from stillroom.db.limits import CookingMinimum
from stillroom.db.names import fold
from stillroom.plugins.book.compute import Card, Recipe, Wrong, card, card_json, said_at
from stillroom.plugins.book.declared import Declared, declared
from stillroom.plugins.book.rows import ask, read_book, read_measures
from stillroom.plugins.book.targets import FIELDS, Kitchenful, Target, read_target
from stillroom.plugins.core.auth import decide, role_of
from stillroom.plugins.core.format import percent
from stillroom.plugins.core.pages import NotFound, page, query
from stillroom.plugins.core.parts import Offer, offer

KINDS = (("dish", "Dishes"), ("sub-recipe", "Sub-recipes"), ("cut", "Cuts"))
NO_RECIPE = "There is no recipe of that name. The page Recipes lists them all."
DRAFT, OFFICE_ACTION = "draft", "trials"  # a draft is for those who set the menu


@dataclass(frozen=True)
class Listed:
    """One recipe in the list."""

    id: str
    name: str
    kind: str
    status: str
    section: str
    made: str
    station: str
    station_id: str | None
    shelf_life_days: int | None


@dataclass(frozen=True)
class Recipes:
    """The book's list: groups of recipes by kind, and what it was narrowed to."""

    find: str
    station: str
    stations: list[tuple[str, str]]
    groups: list[tuple[str, list[Listed]]]
    total: int

    def as_json(self) -> dict[str, Any]:
        """The list as data."""
        return {"recipes": [vars(one) for _, group in self.groups for one in group]}


@page("book/recipes.html", needs="recipe")
async def recipes(datasette: Any, request: Any) -> Recipes:
    find = (request.args.get("find") or "").strip()[:60]
    station = (request.args.get("station") or "").strip()[:60]
    may_see_drafts = decide(role_of(request.actor), OFFICE_ACTION)
    return await query(datasette, lambda connection: _recipes(connection, find, station, may_see_drafts))


def _recipes(connection: sqlite3.Connection, find: str, station: str, may_see_drafts: bool) -> Recipes:
    every = [Listed(*row) for row in ask(connection, "list")]
    every = [one for one in every if may_see_drafts or one.status != DRAFT]
    stations = sorted({(one.station_id, one.station) for one in every if one.station_id})
    part = fold(find)
    found = [x for x in every if part in fold(x.name) and (not station or x.station_id == station)]
    groups = [(word, [x for x in found if x.kind == kind]) for kind, word in KINDS]
    return Recipes(find, station, stations, [(w, g) for w, g in groups if g], len(every))


@dataclass(frozen=True)
class Used:
    """A recipe that takes this one."""

    id: str
    name: str
    kind: str
    status: str


@dataclass(frozen=True)
class Own:
    """What the file says of one recipe itself. Times in s; least_batch, shrink and trim exact, as text."""

    id: str
    name: str
    kind: str
    status: str
    section: str
    one_batch: str
    station: str
    shelf_life_days: int | None
    no_date_mark: str
    storage: str
    active_s: int | None
    passive_s: int | None
    least_batch: str | None
    shrink: str | None
    trim: str | None
    note: str

    @property
    def life(self) -> Life:
        """How long it keeps by what is written down."""
        return Life(self.shelf_life_days, self.no_date_mark)

    @property
    def losses(self) -> str:
        """What a cut loses from the primal on, in words."""
        parts = ((self.shrink, "lost to ageing"), (self.trim, "cut away"))
        return ", then ".join(f"{percent(read_exact(share))} {word}" for share, word in parts if share is not None)


@dataclass(frozen=True)
class CardPage:
    """The card of one recipe at one size.

    asked is what the forms hold, problem why a target was not met. query: the address's own words for the same size.
    things: components that a cook may have so much of. whole: whole batches that cover the target, with what they make.
    """

    own: Own
    card: Card
    asked: dict[str, str]
    target: str
    problem: Wrong | None
    query: str
    whole: tuple[int, str] | None
    is_too_small: str
    equipment: list[str]
    surfaces: list[str]
    cooking: list[str]
    minimums: list[CookingMinimum]
    declared: Declared
    loaded_on: date | None
    today: date
    users: list[Used]
    dishes: list[tuple[str, str]]
    things: list[tuple[str, str, str]]
    can_be_trimmed: bool
    photo: str
    may: dict[str, bool]

    @property
    def is_scaled(self) -> bool:
        return self.card.batches != 1

    @property
    def facts(self) -> list[str]:
        """Where, on what, how long, and how it keeps, in words."""
        own, life = self.own, self.own.shelf_life_days
        unknown = "" if own.kind == "dish" else "shelf life not written down"
        said = [
            own.section, own.station, f"on {', '.join(self.equipment)}" if self.equipment else "",
            f"shared surface {', '.join(self.surfaces)}" if self.surfaces else "",
            f"hands {_span(own.active_s)}" if own.active_s else "",
            f"alone {_span(own.passive_s)}" if own.passive_s else "",
            unknown if life is None else f"keeps {count(life)}{_marked(own.life)}", own.storage,
        ]  # fmt: skip
        return [words for words in said if words]

    @property
    def size(self) -> str:
        """How much there is to print: 'short', 'middle' or 'long'."""
        lines = len(self.card.rows) + sum(1 + len(step) // 90 for step in self.card.steps)
        return "short" if lines <= 16 else "middle" if lines <= 30 else "long"

    def as_json(self) -> dict[str, Any]:
        """The card as data: exact quantities beside the words."""
        allergens = {
            "regime": self.declared.regime, "contains": self.declared.contains, "may_contain": self.declared.may,
            "not_reviewed": self.declared.unknown, "unread_labels": self.declared.unread,
            "oldest_review": self.declared.oldest, "as_of": self.loaded_on,
        }  # fmt: skip
        return {
            **card_json(self.card), "one_batch": self.own.one_batch, "target": self.target,
            "problem": None if self.problem is None else vars(self.problem), "station": self.own.station,
            "equipment": self.equipment, "surfaces": self.surfaces, "shelf_life_days": self.own.shelf_life_days,
            "storage": self.own.storage, "allergens": allergens, "cooking": self.cooking,
            "minimums": [vars(one) for one in self.minimums], "used_in": [vars(one) for one in self.users],
        }  # fmt: skip


@page("book/card.html", needs="recipe", parts="recipe")
async def recipe(datasette: Any, request: Any) -> CardPage:
    return await _answer(datasette, request)


@page("book/read.html", needs="recipe")
async def read(datasette: Any, request: Any) -> CardPage:
    return await _answer(datasette, request)


async def _answer(datasette: Any, request: Any) -> CardPage:
    asked = {field: (request.args.get(field) or "").strip()[:80] for field in FIELDS}
    may = {action: decide(role_of(request.actor), action) for action in ("short", "dish", "labels", OFFICE_ACTION)}
    return await query(datasette, lambda connection: card_page(connection, request.url_vars["recipe"], asked, may))


def card_page(connection: sqlite3.Connection, wanted: str, asked: dict[str, str], may: dict[str, bool]) -> CardPage:
    """The card of a recipe, at the size that the fields ask for.

    Raises:
        NotFound: no such recipe, or a draft that is not for whoever asks.
    """
    own = own_facts(connection, wanted, may[OFFICE_ACTION])
    style, here = style_of(settings(connection)), kitchen(connection)
    of = _kitchenful(connection, wanted, asked, style)
    target = read_target(asked, of)
    is_met = isinstance(target, Target)
    factor = target.batches if isinstance(target, Target) else Fraction(1)
    tools = ask(connection, "tools", recipe=wanted)
    kept = {field: value for field, value in asked.items() if value and is_met}
    return CardPage(
        own, card(wanted, factor, of.book, style), asked, target.words if isinstance(target, Target) else "",
        target if isinstance(target, Wrong) else None, f"?{urlencode(kept)}" if kept else "",
        _whole(of.book[wanted], factor, style), _too_small(own.least_batch, factor, style),
        equipment=[name for kind, name in tools if kind == "equipment"],
        surfaces=[name for kind, name in tools if kind == "surface"], cooking=_cooking(connection, wanted, style),
        minimums=[CookingMinimum(*row) for row in ask(connection, "minimums", recipe=wanted)],
        declared=declared_of(connection, wanted), loaded_on=here.loaded_on, today=here.today,
        users=[Used(*u) for u in ask(connection, "users", recipe=wanted) if may[OFFICE_ACTION] or u[3] != DRAFT],
        dishes=[(i, name) for i, name in ask(connection, "dishes_above", recipe=wanted)],
        things=_things(of.book[wanted], style),
        can_be_trimmed=any(line.share not in (None, 1) for line in of.book[wanted].lines),
        photo=_photo(connection, wanted), may=may,
    )  # fmt: skip


def own_facts(connection: sqlite3.Connection, wanted: str, may_see_drafts: bool) -> Own:
    """One recipe's own facts.

    Raises:
        NotFound: no such recipe, or a draft that is not for whoever asks.
    """
    row = next(iter(ask(connection, "recipe", recipe=wanted)), None)
    if row is None or (row[3] == DRAFT and not may_see_drafts):
        raise NotFound(NO_RECIPE)
    return Own(*row)


def _kitchenful(connection: sqlite3.Connection, wanted: str, asked: Mapping[str, str], style: Style) -> Kitchenful:
    dish = asked.get("of", "")
    dishes = {dish: read_book(connection, dish, style.mark)} if dish and asked.get("plates") else {}
    dishes = {i: book for i, book in dishes.items() if wanted in book}
    book = read_book(connection, wanted, style.mark)
    return Kitchenful(wanted, book, read_measures(connection, wanted), dishes, style)


def declared_of(connection: sqlite3.Connection, recipe: str) -> Declared:
    """What a recipe declares under the kitchen's list."""
    here = kitchen(connection)
    regime, facts = here.settings["regime"], here.facts.presence
    return declared(here.recipe(recipe), here.declared(recipe), here.groups, facts, regime)


def _photo(connection: sqlite3.Connection, wanted: str) -> str:
    """The address of a recipe's picture; '' where there is none."""
    return "".join(f"/photo/{wanted}.jpg?{mark}" for (mark,) in ask(connection, "picture_mark", recipe=wanted))


def _whole(own: Recipe, factor: Fraction, style: Style) -> tuple[int, str] | None:
    """Whole batches that cover a target which is not one, with what they make."""
    if factor.denominator == 1:
        return None
    batches = math.ceil(factor)
    return batches, card(own.id, Fraction(batches), {own.id: own}, style).made_said


def _too_small(least: str | None, factor: Fraction, style: Style) -> str:
    """The smallest batch worth making, where this is less; '' where it is not."""
    return plenty(read_exact(least), style.mark) if least is not None and factor < read_exact(least) else ""


def _things(own: Recipe, style: Style) -> list[tuple[str, str, str]]:
    """(id, name, quantity for one batch in words) of every component, once each."""
    found = {str(x.item or x.recipe): (x.name, said_at(x, Fraction(1), {}, style)[0]) for x in reversed(own.lines)}
    return [(thing, *said) for thing, said in reversed(found.items())]


def _cooking(connection: sqlite3.Connection, wanted: str, style: Style) -> list[str]:
    """A cooking programme in words, one step a line."""
    return [_cooking_step(style, *row) for row in ask(connection, "cooking", recipe=wanted)]


def _cooking_step(style: Style, kind: str, *said: Any) -> str:
    temp_f, temp_c, end_f, end_c, seconds, core_f, turns, humidity, note = said
    at = f"at {_temperature(temp_f, temp_c, style)}" if temp_f is not None or temp_c is not None else ""
    at += f" to {_temperature(end_f, end_c, style)}, steadily," if end_f is not None or end_c is not None else ""
    until = f"until the core is {_temperature(core_f, None, style)}" if core_f is not None else ""
    turned = f"turn {turns} {'time' if turns == 1 else 'times'}" if turns else ""
    words = [kind, f"{humidity} heat" if humidity else "", at.rstrip(","), _span(seconds), until, turned, note]
    return ", ".join(word for word in words if word)


def _temperature(temp_f: float | None, temp_c: float | None, style: Style) -> str:
    """A temperature in the kitchen's own scale."""
    if style.system == "US":
        return f"{temp_f if temp_f is not None else (temp_c or 0) * 9 / 5 + 32:.0f} °F"
    return f"{temp_c if temp_c is not None else ((temp_f or 0) - 32) * 5 / 9:.0f} °C"


def _marked(life: Life) -> str:
    """Where the date mark ends before the kitchen's own shelf life, in words."""
    return f", {MARK_DAYS} by the date mark" if life.by == DATE_MARK else ""


def _span(seconds: float | None) -> str:
    if not seconds:
        return ""
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    parts = ((hours, "h"), (minutes, "min"), (rest, "s"))
    return " ".join(f"{number} {unit}" for number, unit in parts if number)


@dataclass(frozen=True)
class OnDish:
    """The cards behind a dish: its own and those of the recipes on its plate."""

    id: str
    recipes: list[tuple[str, str]]


def _on_dish(connection: sqlite3.Connection, dish: str, role: str) -> OnDish:
    return OnDish(dish, [(i, name) for i, name in ask(connection, "cards_of_dish", recipe=dish)])


def offer_parts() -> None:
    """Links from a dish to the cards behind it."""
    offer(Offer("dish", "cards", "recipe", "book/on_dish.html", _on_dish, 20))
