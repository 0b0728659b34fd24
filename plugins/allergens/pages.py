"""/guest, /dish/ID and the matrix: what the file says, judged and shown."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from typing import Any

from stillroom.db.allergen_facts import CONTAINS, MAY_CONTAIN, NOT_DECLARED, NOT_REVIEWED
from stillroom.db.names import fold
from stillroom.plugins.allergens.compute import Asked, Dish, Reason, Verdict, cooked_today, judge
from stillroom.plugins.allergens.rows import Kitchen, kitchen, today
from stillroom.plugins.core.export import file_response
from stillroom.plugins.core.pages import NotFound, page, query

COMMON = ("garlic", "alcohol", "pork")
MOST_ASKED = 20
SHOWN_REASONS = 4
KEEP_ANSWERS = 256


@dataclass(frozen=True)
class Guest:
    """Every dish on the menu under its verdict, and the choices on the form."""

    as_of: str
    regime: str
    avoid: list[str]
    ingredient: str
    choices: list[tuple[str, str]]
    more: list[tuple[str, str]]
    verdicts: list[Verdict]
    unknown: list[str]
    out: dict[str, str]

    def of(self, *words: str) -> list[Verdict]:
        order = {w: n for n, w in enumerate(words)}
        return sorted((v for v in self.verdicts if v.verdict in order), key=lambda v: order[v.verdict])

    @property
    def said(self) -> list[str]:
        """What was tapped, in words."""
        names = dict([*self.choices, *self.more])
        return [names.get(a, a) for a in self.avoid]

    @property
    def oldest(self) -> str | None:
        return min((v.oldest_review for v in self.verdicts if v.oldest_review), default=None)

    def as_json(self) -> dict[str, Any]:
        return {"as_of": self.as_of, "regime": self.regime, "avoid": self.avoid, "dishes": [as_row(v) for v in self.verdicts]}


def as_row(verdict: Verdict) -> dict[str, Any]:
    """One dish of the answer as data."""
    reasons = [{"allergen": r.allergen, "presence": r.presence, "path": list(r.path)} for r in verdict.reasons]
    return {"id": verdict.dish.id, "name": verdict.dish.name, "verdict": verdict.verdict, "leave_off": list(verdict.leave_off),
            "note": verdict.note, "reasons": reasons}  # fmt: skip


_answers: dict[tuple[Any, ...], list[Verdict]] = {}


def _judged(here: Kitchen, menu: tuple[Dish, ...], asked: list[Asked], day: str) -> list[Verdict]:
    """Verdicts of the whole menu; the same question is answered once for a load and a day."""
    key = (id(here), day, tuple(asked))
    found = _answers.get(key)
    if found is None:
        cooked = cooked_today(menu)
        found = [judge(dish, asked, here.facts, cooked) for dish in menu] if asked else []
        if len(_answers) >= KEEP_ANSWERS:
            _answers.clear()
        _answers[key] = found
    return found


@page("allergens/guest.html", needs="guest")
async def guest(datasette: Any, request: Any) -> Guest:
    avoid = list(dict.fromkeys(request.args.getlist("avoid")))[:MOST_ASKED]
    ingredient = (request.args.get("ingredient") or "").strip()[:60]

    def ask(connection: sqlite3.Connection) -> Guest:
        here, day = kitchen(connection), today(connection)
        known = [a for a in avoid if a in here.words]
        words = [fold(w) for w in ingredient.split(",") if w.strip()]
        asked = [here.words[a] for a in known] + [Asked(w, ingredient=w) for w in words]
        asked += [Asked(a, ingredient=a) for a in avoid if a in COMMON]
        listed = {code for code, _, _ in here.groups}
        return Guest(
            day.isoformat(), here.settings["regime"], avoid, ingredient, [(c, n.lower()) for c, n, _ in here.groups],
            [*((i, n) for i, n, _ in here.allergens if i not in listed), *((w, w) for w in COMMON)],
            _judged(here, here.menu(day), asked, day.isoformat()), [a for a in avoid if a not in here.words and a not in COMMON],
            _out(connection),
        )  # fmt: skip

    return await query(datasette, ask)


def _out(connection: sqlite3.Connection) -> dict[str, str]:
    """Dishes written down as short or out."""
    return dict(connection.execute(
        "select recipe_id, state from standing_shortages where recipe_id is not null and state <> 'back' and id in"
        " (select max(id) from standing_shortages group by item_id, recipe_id)"
    ).fetchall())  # fmt: skip


@dataclass(frozen=True)
class DishPage:
    """One dish: what is on the plate, and what every allergen of the regime comes to."""

    id: str
    name: str
    section: str
    as_of: str
    regime: str
    components: list[tuple[str, bool]]
    declared: list[tuple[str, str, list[Reason]]]
    minimums: list[dict[str, Any]]
    oldest: str | None


MINIMUMS = """
select r.name as recipe, m.food_class, m.min_temp_f, m.hold_seconds, m.edition, m.section
from pieces as p join recipes as r on r.id = p.recipe_id join cooking_minimums as m on m.id = p.minimum_id
where p.recipe_id = :dish or p.recipe_id in (select sub_recipe_id from components where recipe_id = :dish)
"""


@page("allergens/dish.html", needs="dish")
async def dish(datasette: Any, request: Any) -> DishPage:
    wanted = request.url_vars["dish"]

    def ask(connection: sqlite3.Connection) -> DishPage:
        here, day = kitchen(connection), today(connection)
        found = next((d for d in here.facts.dishes if d.id == wanted), None)
        if found is None:
            raise NotFound("There is no dish of that name on the menu. The guest page lists all that are.")
        cooked = cooked_today(here.menu(day)) | {found.id}
        verdicts = [(name.lower(), judge(found, [here.words[code]], here.facts, cooked)) for code, name, _ in here.groups]
        rows = connection.execute(
            "select line, is_removable from components where recipe_id = ? order by position", (wanted,)
        ).fetchall()
        names = "recipe food_class min_temp_f hold_seconds edition section".split()
        minimums = [dict(zip(names, row, strict=True)) for row in connection.execute(MINIMUMS, {"dish": wanted})]
        declared = [(name, _presence(v), list(v.reasons[:SHOWN_REASONS])) for name, v in verdicts]
        order = {CONTAINS: 0, MAY_CONTAIN: 1, NOT_REVIEWED: 2, NOT_DECLARED: 3}
        return DishPage(
            found.id, found.name, found.section, day.isoformat(), here.settings["regime"], [(t, bool(r)) for t, r in rows],
            sorted(declared, key=lambda d: order[d[1]]), minimums, verdicts[0][1].oldest_review if verdicts else None,
        )  # fmt: skip

    return await query(datasette, ask)


def _presence(verdict: Verdict) -> str:
    return verdict.reasons[0].presence if verdict.reasons else NOT_DECLARED


@dataclass(frozen=True)
class Matrix:
    """Dishes by the regime's allergens."""

    as_of: str
    regime: str
    columns: list[str]
    rows: list[tuple[str, str, list[str]]]
    oldest: str | None


@page("allergens/matrix.html", needs="dish")
async def matrix(datasette: Any, request: Any) -> Any:
    def ask(connection: sqlite3.Connection) -> Matrix:
        here, day = kitchen(connection), today(connection)
        menu = here.menu(day)
        by_group = [_judged(here, menu, [here.words[code]], day.isoformat()) for code, _, _ in here.groups]
        rows = [(d.id, d.name, [_presence(column[n]) for column in by_group]) for n, d in enumerate(menu)]
        oldest = min((v.oldest_review for v in by_group[0] if v.oldest_review), default=None) if by_group else None
        return Matrix(day.isoformat(), here.settings["regime"], [n.lower() for _, n, _ in here.groups], rows, oldest)

    answer = await query(datasette, ask)
    kind = request.url_vars.get("kind") or ""
    if kind in {"csv", "xlsx"}:
        table = [[name, *cells] for _, name, cells in answer.rows]
        return await file_response(kind, ["dish", *answer.columns], table, f"allergens-{answer.as_of}")
    return answer


