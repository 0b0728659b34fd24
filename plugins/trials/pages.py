"""/trials, /trials/ID and /trials/ID/compare: drafts, their versions, and what differs between them."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from functools import cached_property
from itertools import pairwise
from typing import Any

from stillroom.db.allergen_facts import NOT_DECLARED
from stillroom.db.allergen_kitchen import Behind, kitchen
from stillroom.db.drafts import told
from stillroom.db.number import whole
from stillroom.db.promotions import Promotion, standing
from stillroom.plugins.core.auth import decide, role_of
from stillroom.plugins.core.format import near_day
from stillroom.plugins.core.forms import request_id
from stillroom.plugins.core.pages import NotFound, page, query
from stillroom.plugins.trials.compute import Row, diff, mean, turned
from stillroom.plugins.trials.money import Money
from stillroom.plugins.trials.rows import Head, Trial, Version, ask, read_trial, taken_in
from stillroom.plugins.trials.said import score

MOST_BESIDE = 4
NEWEST = 5  # versions that stand whole on the page of a trial; those before them are listed, and open one by one
NO_TRIAL = "There is no trial of that name. The page Trials lists them all."


@dataclass(frozen=True)
class Listed:
    """One trial in the list: its last version, what people made of it, and whether it is on the menu."""

    id: str
    name: str
    versions: int
    latest: int
    on: str
    score: Fraction | None
    decision: str
    promoted: str

    @property
    def said(self) -> str:
        return score(self.score)


@dataclass(frozen=True)
class Trials:
    """Every trial, and what a new one can begin from."""

    today: date
    rows: list[Listed]
    untried: list[tuple[str, str, int]]
    dishes: list[tuple[str, str, str]]
    may_change: bool

    def as_json(self) -> dict[str, Any]:
        rows = [
            {"id": r.id, "name": r.name, "versions": r.versions, "latest": r.latest, "written_on": r.on,
             "score": None if r.score is None else float(r.score), "decision": r.decision or None,
             "from": r.promoted or None}
            for r in self.rows
        ]  # fmt: skip
        return {"as_of": self.today.isoformat(), "trials": rows}


@page("trials/trials.html", needs="taste")
async def trials(datasette: Any, request: Any) -> Trials:
    may_change = decide(role_of(request.actor), "trials")
    return await query(datasette, lambda connection: _trials(connection, may_change))


def _trials(connection: sqlite3.Connection, may_change: bool) -> Trials:
    notes: dict[str, list[tuple[int, int | None, str, str]]] = {}
    for recipe, *note in ask(connection, "tasted"):
        notes.setdefault(recipe, []).append(tuple(note))
    promoted = {p.trial_id: p.from_on for p in _promotions(connection)}
    rows = []
    for trial, name, count, latest, on in ask(connection, "trials"):
        own = [n for n in notes.get(trial, ()) if n[0] == latest]
        said = next((n[3] for n in reversed(own) if n[3]), "")
        rows.append(Listed(trial, name, count, latest, on, mean([n[1] for n in own]), said, promoted.get(trial, "")))
    known = {r.id for r in rows}
    dishes = ask(connection, "dishes")
    untried = [(i, name, len(notes[i])) for i, name, _, _ in dishes if i in notes and i not in known]
    begin = [(i, name, kind) for i, name, kind, _ in dishes if i not in known]
    return Trials(kitchen(connection).today, rows, untried, begin, may_change)


def _promotions(connection: sqlite3.Connection) -> list[Promotion]:
    return [p for rows in standing(connection).values() for p in rows]


@dataclass(frozen=True)
class TrialPage:
    """One trial: its newest versions whole, and the earlier ones that were asked for; all others in short.

    With the forms to change, taste, compare and promote.
    """

    trial: Trial
    behind: Behind
    currency: str
    may_change: bool
    may_cost: bool
    request: str
    wrong: dict[str, str]
    said: dict[str, str]
    signed_who: str = ""

    @property
    def whole(self) -> list[Version]:
        """Versions that stand whole, the newest first."""
        return list(reversed(self.trial.versions))

    @property
    def numbers(self) -> list[int]:
        """Every version there is, the newest first."""
        return [head.number for head in reversed(self.trial.heads)]

    @property
    def chosen(self) -> int | None:
        """The version that a form was sent for."""
        return whole(self.said.get("version", ""))

    @cached_property
    def earlier(self) -> list[Head]:
        """Versions in short that don't stand whole, the newest first."""
        whole = {v.number for v in self.trial.versions}
        return [head for head in reversed(self.trial.heads) if head.number not in whole]

    @property
    def in_short(self) -> list[tuple[int, str, str]]:
        """The same in words: number, what is said of it, what was decided; ready, for there may be hundreds."""
        return [(head.number, self._short(head), head.decision) for head in self.earlier]

    def _short(self, head: Head) -> str:
        is_branch = head.based_on and head.based_on != head.number - 1
        said = [
            f"{head.who}, {near_day(head.on, self.behind.today)}" + f", from version {head.based_on}" * bool(is_branch),
            head.said_score, f"called {head.called}" * (head.called != self.trial.name), head.note,
        ]  # fmt: skip
        return " · ".join(filter(None, said))

    @property
    def pending(self) -> list[Any]:
        """Promotions whose day is still to come."""
        return [p for p in self.trial.promotions if p.from_on > self.behind.today.isoformat()]

    @property
    def in_force(self) -> Any:
        """The promotion that the dish is made of; None where there is none."""
        begun = [p for p in self.trial.promotions if p.from_on <= self.behind.today.isoformat()]
        return begun[-1] if begun else None

    def as_json(self) -> dict[str, Any]:
        promoted = [{"version": p.version, "name": p.name or None, "from": p.from_on, "to": p.to_on}
                    for p in self.trial.promotions]  # fmt: skip
        return {"id": self.trial.id, "name": self.trial.name, "as_of": self.behind.today.isoformat(),
                "versions": [version_json(v, self.may_cost) for v in self.trial.versions],
                "earlier": [head_json(head) for head in reversed(self.earlier)],
                "promotions": promoted}  # fmt: skip


def head_json(head: Head) -> dict[str, Any]:
    """One version in short, as data."""
    return {"version": head.number, "name": head.called, "based_on": head.based_on, "written_on": head.on,
            "by": head.who, "note": head.note, "score": None if head.score is None else float(head.score),
            "decision": head.decision or None}  # fmt: skip


def version_json(v: Version, may_cost: bool) -> dict[str, Any]:
    """One version as data; money only for those who may see it."""
    found: dict[str, Any] = head_json(v) | {
        "section": v.draft.section, "yield": v.draft.yield_text, "lines": [str(line) for line in v.draft.lines],
        "method": list(v.draft.method), "wrong": told(v.checked.problems, may_cost),
        "allergens": [{"allergen": code, "presence": presence} for code, _, presence, _ in v.allergens],
        "cooked": [{"recipe": c.recipe, "steps": list(c.steps)} for c in v.cooked],
        "tastings": [{"on": n.on, "by": n.who, "score": n.score, "words": n.words, "decision": n.decision}
                     for n in v.notes],
    }  # fmt: skip
    if may_cost:
        found |= v.money.as_json()
    return found


@page("trials/trial.html", needs="taste")
async def trial(datasette: Any, request: Any) -> TrialPage:
    return await trial_page(datasette, request, {}, {})


async def trial_page(
    datasette: Any, request: Any, wrong: dict[str, str], said: dict[str, str], sent: str = ""
) -> TrialPage:
    """The page of a trial, with what was typed into one of its forms and what was wrong with it."""
    role, wanted = role_of(request.actor), request.url_vars["trial"]
    may_cost = decide(role, "cost")

    asked = {number for text in request.args.getlist("v")[:MOST_BESIDE] if (number := whole(text))}

    def work(connection: sqlite3.Connection) -> TrialPage:
        there = [row[0] for row in ask(connection, "versions", trial=wanted)]
        found = read_trial(connection, wanted, may_cost, [*there[-NEWEST:], *asked.intersection(there)])
        if found is None:
            raise NotFound(NO_TRIAL)
        here = kitchen(connection)
        return TrialPage(
            found, behind(here, found.versions), here.settings["currency"], decide(role, "trials"), may_cost,
            sent or request_id(), wrong, said, said.get("who", ""),
        )  # fmt: skip

    return await query(datasette, work)


def behind(here: Any, versions: Any) -> Behind:
    """Where the allergens of some versions come from."""
    return Behind(here.today, here.loaded_on, min((v.oldest for v in versions if v.oldest), default=None))


@dataclass(frozen=True)
class Compare:
    """Two to four versions side by side."""

    trial: Trial
    behind: Behind
    currency: str
    numbers: list[int]
    wrong: str
    may_cost: bool
    taken_in: Mapping[str, tuple[str, ...]]

    @property
    def versions(self) -> tuple[Version, ...]:
        return self.trial.versions

    @cached_property
    def rows(self) -> list[Row]:
        """Components, those that differ first."""
        return sorted(diff([v.parts for v in self.versions]), key=lambda r: not r.differs)

    @property
    def names(self) -> list[tuple[int, str]]:
        """What each version calls the dish; none where they all call it the same."""
        found = [(v.number, v.draft.name) for v in self.versions]
        return found if len({name for _, name in found}) > 1 else []

    @cached_property
    def heads(self) -> list[tuple[str, list[str], bool]]:
        """What is said beside the components: what, each version's words, whether they differ; those first."""
        said = {
            "Name": [v.draft.name for v in self.versions],
            "Yield": [v.draft.yield_text for v in self.versions],
            "Section": [v.draft.section for v in self.versions],
            "Station": [v.draft.station for v in self.versions],
            "Surfaces": [", ".join(v.draft.surfaces) for v in self.versions],
            "Note": [v.note for v in self.versions],
        }
        rows = [(what, words, len(set(words)) > 1) for what, words in said.items() if any(words)]
        return sorted(rows, key=lambda row: not row[2])

    @cached_property
    def steps(self) -> list[tuple[int, list[tuple[str, bool]]]]:
        """Method of each version; a step that the version before has not is marked."""
        found, before = [], None
        for v in self.versions:
            steps = [(s, before is not None and s not in before) for s in v.draft.method]
            found.append((v.number, steps))
            before = v.draft.method
        return found

    @cached_property
    def turns(self) -> list[tuple[int, int, list[str], list[str]]]:
        """From version to version: allergens gained or stronger, lost or weaker."""
        return [(a.number, b.number, *turned(a.presence, b.presence, self.taken_in))
                for a, b in pairwise(self.versions)]  # fmt: skip

    @property
    def allergens(self) -> list[tuple[str, list[str], bool]]:
        """Allergens that any version has, and kinds of them that turn: name, presence in each, whether they differ."""
        rows = []
        for n, (_, name, _, _) in enumerate(self.versions[0].allergens if self.versions else ()):
            words = [v.allergens[n][2] for v in self.versions]
            if set(words) != {"not declared"}:
                rows.append((name, words, len(set(words)) > 1))
        moved = dict.fromkeys(name for _, _, gained, lost in self.turns for name in (*gained, *lost))
        rows += [(name, [v.kinds.get(name, NOT_DECLARED) for v in self.versions], True)
                 for name in moved if name in self.taken_in]  # fmt: skip
        return sorted(rows, key=lambda r: not r[2])

    @property
    def money(self) -> list[Money]:
        return [v.money for v in self.versions]

    def as_json(self) -> dict[str, Any]:
        components = [
            {"name": r.name, "differs": r.differs, "how": list(r.how), "lines": [list(x) for x in r.lines]}
            for r in self.rows
        ]
        turns = [{"from": a, "to": b, "gained": gained, "lost": lost} for a, b, gained, lost in self.turns]
        return {"id": self.trial.id, "name": self.trial.name, "compared": self.numbers, "components": components,
                "allergens": turns, "said": [{"what": a, "words": b, "differs": c} for a, b, c in self.heads],
                "versions": [version_json(v, self.may_cost) for v in self.versions]}  # fmt: skip


@page("trials/compare.html", needs="taste")
async def compare(datasette: Any, request: Any) -> Compare:
    may_cost = decide(role_of(request.actor), "cost")
    wanted, asked = request.url_vars["trial"], request.args.getlist("v")
    return await query(datasette, lambda connection: _compare(connection, wanted, asked, may_cost))


def _compare(connection: sqlite3.Connection, wanted: str, asked: list[str], may_cost: bool) -> Compare:
    there = [row[0] for row in ask(connection, "versions", trial=wanted)]
    if not there:
        raise NotFound(NO_TRIAL)
    numbers = sorted({whole(a) or 0 for a in asked} & set(there))
    wrong = ""
    if asked and len(numbers) != len(set(asked)):
        wrong = "One of the versions asked for is not there."
    if len(numbers) > MOST_BESIDE:
        wrong = f"At most {MOST_BESIDE} versions stand side by side: the last {MOST_BESIDE} of them are shown."
    if len(numbers) < 2:
        wrong = wrong or ("Choose two versions or more: the last two are shown." if asked else "")
        numbers = there[-2:]
    found = read_trial(connection, wanted, may_cost, numbers[-MOST_BESIDE:])
    if found is None:
        raise NotFound(NO_TRIAL)
    here = kitchen(connection)
    return Compare(
        found, behind(here, found.versions), here.settings["currency"], [v.number for v in found.versions], wrong,
        may_cost, taken_in(here),
    )  # fmt: skip
