"""/trace: where a lot went, what was behind a dish on a day, and the receipt lines with their eight facts."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from stillroom.db.quantity import ReadError, read_date
from stillroom.plugins.core.export import page_or_file
from stillroom.plugins.core.pages import page, query
from stillroom.plugins.core.sure import refusal
from stillroom.plugins.logbook.book import ask, now_of, today_of
from stillroom.plugins.logbook.trace import ENDS, NO_RECEIPT, Group, Step, backward, folded, forward
from stillroom.plugins.logbook.trace_rows import COLUMNS, Receipt, days_of_lot, read_records, receipt_row, receipts

STEP_COLUMNS = (
    "step",
    "what",
    "name",
    "lot code",
    "day",
    "may have been used until",
    "service",
    "plates",
    "how it is known",
    "why",
)
SPAN = timedelta(days=30)
SHOWN = 1_000  # steps on the page


@dataclass(frozen=True)
class Trace:
    """A question and its answer. receipts: the facts of every line of goods in it, by id."""

    lot: str
    dish: str
    on: str
    dishes: Sequence[tuple[str, str]]
    lots: Sequence[str]
    today: date
    steps: Sequence[Step] = ()
    receipts: Mapping[int, Receipt] = field(default_factory=dict)
    wrong: str = ""
    query: str = ""

    @property
    def name(self) -> str:
        """The dish asked about."""
        return next((name for key, name in self.dishes if key == self.dish), self.dish)

    @property
    def ends(self) -> int:
        """Places where the records end."""
        return sum(step.how == ENDS for step in self.steps)

    @property
    def days(self) -> int:
        """Days of service on which plates may have had the lot on them."""
        return len({step.on for step in self.steps if step.kind == "dish"})

    @property
    def plates(self) -> int:
        """Plates of those days, each dish and service once."""
        return sum({(s.name, s.on, s.service): s.plates or 0 for s in self.steps if s.kind == "dish"}.values())

    @property
    def groups(self) -> list[Group]:
        """The answer, folded."""
        return folded(self.steps[:SHOWN])

    def as_json(self) -> dict[str, Any]:
        return {
            "lot": self.lot, "dish": self.dish, "on": self.on, "wrong": self.wrong, "records end": self.ends,
            "steps": [vars(step) for step in self.steps],
            "goods": [vars(one) | {"not written down": one.missing} for one in self.receipts.values()],
        }  # fmt: skip

    def rows(self) -> list[list[Any]]:
        """The answer as a file has it: each step, with the facts of the goods behind it."""
        empty: list[Any] = [""] * len(COLUMNS)
        return [
            [s.depth, s.kind, s.name, s.lot, s.on, s.until, s.service, s.plates, s.how, s.why,
             *(receipt_row(self.receipts[s.goods]) if s.goods is not None and s.goods in self.receipts else empty)]
            for s in self.steps
        ]  # fmt: skip


@page("logbook/trace.html", needs="trace")
async def trace(datasette: Any, request: Any) -> Any:
    said = {name: (request.args.get(name) or "").strip()[:80] for name in ("lot", "dish", "on")}
    found = await query(datasette, lambda c: _trace(c, said, request.query_string))
    return await page_or_file(request, found, f"trace-{found.today}", (*STEP_COLUMNS, *COLUMNS), found.rows)


def _trace(connection: sqlite3.Connection, said: Mapping[str, str], asked: str) -> Trace:
    settings, today = today_of(connection, now_of(connection))
    dishes = ask(connection, "dish_names")
    lots = [code for (code,) in ask(connection, "known_lots")]
    form = Trace(said["lot"], said["dish"], said["on"], dishes, list(dict.fromkeys(lots)), today, query=asked)
    wrong = ""
    steps: list[Step] = []
    if said["lot"]:
        wrong, steps = _forward(connection, said["lot"], today)
    elif said["dish"]:
        wrong, steps = _backward(connection, said, dishes, today, settings["date order"])
    ids = sorted({step.goods for step in steps if step.goods is not None})
    facts = {one.id: one for one in receipts(connection, settings, "", "", ids)} if ids else {}
    return Trace(form.lot, form.dish, form.on, dishes, form.lots, today, steps, facts, wrong, asked)


def _forward(connection: sqlite3.Connection, lot: str, today: date) -> tuple[str, list[Step]]:
    days = days_of_lot(connection, lot)
    if days is None:
        return f"No goods and no batch with the lot code {lot} are written down, and no batch names it.", []
    steps = forward(read_records(connection, date.fromisoformat(days[0]), today), lot)
    if not steps:
        return f"By the records nothing of {lot} stayed in the house: what came was sent back.", []
    is_unread = bool(steps) and steps[0].why == NO_RECEIPT
    wrong = f"No receipt of {lot} is written down. What batches name it went into follows." if is_unread else ""
    return wrong, steps


def _backward(
    connection: sqlite3.Connection, said: Mapping[str, str], dishes: Sequence[tuple[str, str]], today: date, order: str
) -> tuple[str, list[Step]]:
    dish = next((key for key, name in dishes if said["dish"] in (key, name)), None)
    if dish is None:
        return "There is no such dish: choose one of the list.", []
    try:
        day = read_date(said["on"], order) if said["on"] else today.isoformat()
    except ReadError as error:
        return refusal(error), []
    on = date.fromisoformat(day)
    return "", backward(read_records(connection, on, today), dish, day)


@dataclass(frozen=True)
class Receipts:
    """Receipt lines between two days."""

    since: str
    until: str
    rows: Sequence[Receipt]
    wrong: str = ""

    def as_json(self) -> dict[str, Any]:
        return {"from": self.since, "to": self.until, "wrong": self.wrong,
                "lines": [vars(one) | {"not written down": one.missing} for one in self.rows]}  # fmt: skip


@page("logbook/receipts.html", needs="trace")
async def receipt_lines(datasette: Any, request: Any) -> Any:
    said = {name: (request.args.get(name) or "").strip()[:20] for name in ("from", "to")}

    def work(connection: sqlite3.Connection) -> Receipts:
        settings, today = today_of(connection, now_of(connection))
        days, wrong = [], ""
        for name, usual in (("from", today - SPAN), ("to", today)):
            try:
                days.append(read_date(said[name], settings["date order"]) if said[name] else usual.isoformat())
            except ReadError as error:
                wrong = refusal(error)
                days.append(usual.isoformat())
        return Receipts(min(days), max(days), receipts(connection, settings, min(days), max(days)), wrong)

    found = await query(datasette, work)
    name = f"receipts-{found.since}-{found.until}"
    return await page_or_file(request, found, name, COLUMNS, lambda: [receipt_row(one) for one in found.rows])
