"""/doneness: pieces with a programme; /doneness/RECIPE: one worked out, both ways; /doneness/line: beside the fire."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

from markupsafe import Markup
from stillroom.db.cooked_as import KINDS, cooked_as
from stillroom.db.kitchen import day_of
from stillroom.db.pieces import WORKED
from stillroom.plugins.core.pages import NotFound, page, query
from stillroom.plugins.doneness.as_data import plan_data, temps
from stillroom.plugins.doneness.clocks import clock_after, clock_before
from stillroom.plugins.doneness.compute import Plan, Question, Refused, plan
from stillroom.plugins.doneness.draw import chart, minute_table
from stillroom.plugins.doneness.form import (
    KIND_WORDS,
    MOST_STEPS,
    RULE_FIELDS,
    SHAPE_WORDS,
    STEP_FIELDS,
    Read,
    read_form,
)
from stillroom.plugins.doneness.rows import Stored, ask, read_pieces, said, span
from stillroom.plugins.doneness.scale import FAHRENHEIT, Scale, scale_of
from stillroom.plugins.physics.temperature import f_from_c

FIELDS = (
    "food", "worked", "shape", "thickness", "width", "length", "factor", "start", "water", "fat", *RULE_FIELDS, "peak",
    "ready", "begin",
    *(f"{name}{number}" for number in range(1, MOST_STEPS + 1) for name in STEP_FIELDS),
)  # fmt: skip
BODIES: dict[tuple[Any, ...], Markup] = {}
MOST_BODIES = 64
BY_DAYS = ("", ", the day before", ", two days before", ", three days before")


@dataclass(frozen=True)
class Entry:
    """A piece in the list."""

    id: str
    name: str
    words: str


@dataclass(frozen=True)
class Pieces:
    """Every piece with a programme."""

    entries: list[Entry]


@page("doneness/index.html", needs="doneness")
async def index(datasette: Any, request: Any) -> Pieces:
    found = await query(datasette, read_pieces)
    return Pieces([Entry(one.id, one.name, _words(one.typed)) for one in found])


def _words(typed: Mapping[str, str]) -> str:
    """A piece and its steps on one line."""
    steps = [
        f"{KIND_WORDS.get(typed[f'step{n}'], typed[f'step{n}'])} {_how_hot(typed, n)} {_how_long(typed, n)}"
        for n in range(1, MOST_STEPS + 1)
        if typed.get(f"step{n}")
    ]
    return " · ".join([f"{typed['thickness']} from {typed['start']}", *steps])


def _how_hot(typed: Mapping[str, str], number: int) -> str:
    ends = typed.get(f"to{number}")
    return f"{typed[f'at{number}']} to {ends}" if ends else typed[f"at{number}"]


def _how_long(typed: Mapping[str, str], number: int) -> str:
    until = typed.get(f"until{number}")
    return f"until {until}" if until else typed.get(f"time{number}", "")


@dataclass(frozen=True)
class StepLine:
    """One step with its clock and the core at its end [°F]. to_f: what it runs to [°F]; None: it stays as it is."""

    word: str
    at_f: float
    to_f: float | None
    minutes: str
    begins: str
    ends: str
    low: float
    core: float
    high: float
    seconds: float

    def as_data(self, scale: Scale, limits: Sequence[float]) -> dict[str, Any]:
        said = {name: value for name, value in vars(self).items() if isinstance(value, str) or name == "seconds"}
        return said | temps(scale, limits, at=self.at_f, to=self.to_f, low=self.low, core=self.core,
                            high=self.high)  # fmt: skip


@dataclass(frozen=True)
class Programme:
    """A programme with its answer; plan None where a field is wrong."""

    recipe: Stored
    read: Read
    edition: str
    plan: Plan | None
    steps: list[StepLine]
    ready: str
    begin: str
    begin_days: int
    changed: bool
    chart: Markup | None = None
    table: Markup | None = None
    shapes: Any = None
    kinds: Any = None
    body: Markup | None = None
    scale: Scale = FAHRENHEIT

    @property
    def key(self) -> tuple[Any, ...]:
        """Everything that the words of the page depend on."""
        question = None if self.plan is None else self.plan.question
        recipe = (self.recipe.id, self.recipe.name, self.recipe.band)
        form = tuple(self.read.typed.items()), tuple(self.read.wrong.items())
        times = self.ready, self.begin, self.begin_days
        return recipe, form, self.edition, times, self.changed, question, self.scale

    def field(self, name: str) -> str:
        return self.read.typed.get(name, "")

    @property
    def worked(self) -> str:
        """What the form shows as chosen: as what the food is judged, which is never laxer than what was said."""
        food, said = self.field("food"), self.field("worked")
        is_theirs = food == self.recipe.food
        rule, named = (self.recipe.minimum_id, self.recipe.named) if is_theirs else ("", "")
        return cooked_as(food, rule, said, named).worked

    @property
    def foods(self) -> list[str]:
        """Words for foods whose minimum is known."""
        return [name for names in KINDS.values() for name in names]

    @property
    def ways(self) -> dict[str, str]:
        """Ways in which a food can have been worked, in words."""
        return WORKED

    def wrong(self, name: str) -> str:
        return self.scale.said(self.read.wrong.get(name, ""))

    @property
    def other(self) -> Scale:
        """The scale that stands in brackets."""
        return Scale(not self.scale.is_c)

    @property
    def made_of(self) -> str:
        """Where the heat properties come from, in words."""
        water, fat = self.field("water"), self.field("fat")
        if water and fat:
            return f"Heat goes through it as through {water} water and {fat} fat."
        only = "give water and fat to change it"
        if water or fat:
            only = "water and fat count together, the other is not said"
        return f"Heat goes through it as through measured lean meat: {only}."

    @staticmethod
    def minutes(seconds: float | None) -> str:
        """A length of time as a cook says it; '' for None."""
        return "" if seconds is None else said_time(seconds)

    @property
    def rows(self) -> range:
        """Numbers of the step rows that the form shows: those in use and one more."""
        used = [n for n in range(1, MOST_STEPS + 1) if self.field(f"step{n}")]
        return range(1, min(max(used, default=0) + 1, MOST_STEPS) + 1)

    def is_open(self, *names: str) -> bool:
        """Whether fields that are asked less often say something, or are wrong."""
        return any(self.field(name) or self.wrong(name) for name in names)

    @property
    def days_said(self) -> str:
        return BY_DAYS[self.begin_days] if self.begin_days < len(BY_DAYS) else f", {self.begin_days} days before"

    def as_json(self) -> dict[str, Any]:
        base = {"recipe": {"id": self.recipe.id, "name": self.recipe.name}, "food_code_edition": self.edition,
                "form": dict(self.read.typed), "wrong": self.read.wrong}  # fmt: skip
        return base if self.plan is None else base | plan_data(self.plan, self.scale) | {
            "ready_at": self.ready, "begin_at": self.begin, "begin_days_before": self.begin_days,
            "steps": [step.as_data(self.scale, self.plan.limits_f) for step in self.steps],
        }  # fmt: skip


@page("doneness/programme.html", needs="doneness")
async def programme(datasette: Any, request: Any) -> Programme:
    recipe = request.url_vars["recipe"]
    sent = request.args
    args = {name: sent.get(name) or "" for name in FIELDS if name in sent}
    answer = await query(datasette, lambda connection: worked_out(connection, recipe, args))
    return answer if request.path.endswith(".json") else replace(answer, body=await _body(datasette, answer))


async def _body(datasette: Any, answer: Programme) -> Markup:
    """The page's words, drawn once for everybody who asks the same."""
    key = answer.key
    if key not in BODIES:
        while len(BODIES) >= MOST_BODIES:
            BODIES.pop(next(iter(BODIES)), None)
        BODIES[key] = Markup(await datasette.render_template("doneness/programme_body.html", {"answer": answer}))
    return BODIES[key]


def worked_out(connection: sqlite3.Connection, recipe: str, args: Mapping[str, str]) -> Programme:
    """A recipe's programme, with what the form changes.

    Raises:
        NotFound: the recipe has no piece.
    """
    found = read_pieces(connection, recipe)
    if not found:
        raise NotFound("No piece with a programme has that name. All of them are on the page Heat.")
    stored, settings = found[0], said(connection)
    changed = bool(args.get("thickness") or args.get("step1"))
    times = {name: args.get(name, "") for name in ("peak", "ready", "begin")}
    typed = _kept(stored, args) | dict(args) if changed else stored.typed | times
    read = read_form(typed, settings["decimal mark"])
    edition, scale = settings["food code"], scale_of(settings)
    made = _planned(stored, read, edition)
    if made is None:
        return Programme(stored, read, edition, None, [], "", "", 0, changed, shapes=SHAPE_WORDS, kinds=KIND_WORDS,
                         scale=scale)  # fmt: skip
    ready, begin, days = _clocks(connection, settings, read, made)
    steps = step_lines(made, begin)
    question = made.question
    return Programme(stored, read, edition, made, steps, ready, begin, days, changed, chart(question, scale),
                     minute_table(question, scale), SHAPE_WORDS, KIND_WORDS, scale=scale)  # fmt: skip


def _kept(stored: Stored, args: Mapping[str, str]) -> dict[str, str]:
    """What a question says nothing of and its files do: the kitchen's own rule, and how the piece was worked.

    Emptied fields and another food say something.
    """
    if args.get("food", "") != stored.food:
        return {}
    names = () if set(RULE_FIELDS) & args.keys() else RULE_FIELDS
    return {name: stored.typed[name] for name in (*names, "worked")}


def _planned(stored: Stored, read: Read, edition: str) -> Plan | None:
    if read.wrong or read.piece is None:
        return None
    food = read.typed.get("food", "")
    rule = stored.minimum_id if food == stored.food else ""
    is_theirs = all(read.typed.get(name, "") == stored.typed[name] for name in RULE_FIELDS)
    own = stored.own if is_theirs else read.own
    named = stored.named if food == stored.food else ""
    asked = Question(food, read.piece, read.steps, read.peak_f, rule, stored.band, edition, own,
                     read.typed.get("worked", ""), named)  # fmt: skip
    try:
        return plan(asked)
    except Refused as error:
        read.wrong[error.field] = str(error)
        return None


def question_of(stored: Stored, settings: Mapping[str, str]) -> Question | None:
    """The programme of a piece as a question; None where its files can't be read as one."""
    read = read_form(stored.typed, settings["decimal mark"])
    if read.wrong or read.piece is None:
        return None
    asked = Question(stored.food, read.piece, read.steps, None, stored.minimum_id, stored.band, settings["food code"],
                     stored.own, stored.typed.get("worked", ""), stored.named)  # fmt: skip
    try:
        plan(asked)
    except Refused:
        return None
    return asked


def _clocks(connection: sqlite3.Connection, settings: dict[str, str], read: Read, made: Plan) -> tuple[str, str, int]:
    """Ready at, begun at, and how many days before the ready time that is."""
    if read.begin:
        ready, days = clock_after(read.begin, made.total_s)
        return ready, read.begin, days
    ready = read.ready
    if not ready:
        opens = ask(connection, "service", weekday=day_of(settings).isoweekday())[0][0]
        ready = opens or "18:00"
    begin, days = clock_before(ready, made.total_s)
    return ready, begin, days


def step_lines(made: Plan, begin: str) -> list[StepLine]:
    """Steps with the clock they begin and end at."""
    lines = []
    for result in made.prediction.steps:
        low, high = sorted((f_from_c(result.slow_core_c), f_from_c(result.fast_core_c)))
        step = result.step
        lines.append(StepLine(
            KIND_WORDS[step.kind], f_from_c(step.temp_c), None if step.end_c is None else f_from_c(step.end_c),
            said_time(step.duration_s),
            clock_after(begin, result.start_s)[0], clock_after(begin, result.end_s)[0], low, f_from_c(result.core_c),
            high, step.duration_s,
        ))  # fmt: skip
    return lines


def said_time(seconds: float) -> str:
    """A length of time as a cook says it, rounded up to half minutes under an hour."""
    if seconds < 3600:
        halves = -int(-seconds // 30)
        whole, half = divmod(halves, 2)
        return f"{whole}½ min" if half and whole else "½ min" if half else f"{whole} min"
    return span(-int(-seconds // 60) * 60)


@dataclass(frozen=True)
class FireLine:
    """The phone page: every piece, and the chosen one with its clock."""

    pieces: list[Entry]
    chosen: Programme | None
    begin: str
    wrong: str


@page("doneness/line.html", needs="doneness")
async def line(datasette: Any, request: Any) -> FireLine:
    recipe, begin = request.args.get("piece") or "", (request.args.get("begin") or "").strip()[:8]

    def work(connection: sqlite3.Connection) -> FireLine:
        pieces = [Entry(one.id, one.name, _words(one.typed)) for one in read_pieces(connection)]
        if not recipe:
            return FireLine(pieces, None, "", "")
        made = worked_out(connection, recipe, {"begin": begin or clock_now(said(connection))})
        wrong = made.wrong("begin")
        if wrong:
            made = worked_out(connection, recipe, {"begin": clock_now(said(connection))})
        return FireLine(pieces, made, begin if wrong else made.begin, wrong)

    return await query(datasette, work)


def clock_now(settings: dict[str, str]) -> str:
    """The kitchen's clock, HH:MM."""
    return f"{datetime.now(UTC).astimezone(ZoneInfo(settings['time zone'])):%H:%M}"
