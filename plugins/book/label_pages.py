"""/recipe/ID/labels and /batch/ID/labels: labels to print, laid out on the sheet that was chosen."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

import segno
from markupsafe import Markup
from stillroom.db.allergen_kitchen import Kitchen, kitchen
from stillroom.db.cook_units import say, style_of
from stillroom.db.date_marks import WRITTEN, Keeps, keeps
from stillroom.db.kitchen import settings
from stillroom.db.moments import read_date
from stillroom.db.number import ReadError, whole
from stillroom.plugins.book.batches import earlier_lot, find_batch, iso, keeps_of, read_freezes, read_lots
from stillroom.plugins.book.labels import BY_ID, MOST_LABELS, STOCKS, Label, Stock, fitted, sheets
from stillroom.plugins.book.pages import declared_of, own_facts
from stillroom.plugins.core.auth import decide, role_of
from stillroom.plugins.core.pages import page, query

FIELDS = ("stock", "copies", "used", "made", "use", "lot", "quantity", "initials")
LATER = "Later than the rule gives it: a label never gives a thing more days. Write an earlier day."


@dataclass(frozen=True)
class Thing:
    """What is labelled, before anybody writes on the form."""

    recipe: str
    name: str
    made_on: date
    by_rule: Keeps
    use_by: str | None
    lot: str
    quantity: str
    initials: str
    earlier: tuple[str, str] | None = None


@dataclass(frozen=True)
class Labels:
    """Labels of one thing. back: the page they belong to. problems: field -> words. code: the square code of each."""

    title: str
    action: str
    back: str
    is_batch: bool
    asked: dict[str, str]
    problems: dict[str, str]
    stock: Stock
    stocks: tuple[Stock, ...]
    label: Label
    by_rule: Keeps
    earlier: tuple[str, str] | None
    sheets: list[list[Label | None]]
    code: Markup
    today: date
    units: str

    def as_json(self) -> dict[str, Any]:
        """What stands on a label, and how many there are."""
        count = sum(cell is not None for sheet in self.sheets for cell in sheet)
        return {"label": asdict(self.label), "stock": self.stock.id, "copies": count, "problems": self.problems}


@page("book/labels.html", needs="labels")
async def of_recipe(datasette: Any, request: Any) -> Labels:
    wanted, asked = request.url_vars["recipe"], _asked(request)
    drafts = decide(role_of(request.actor), "trials")
    address = datasette.absolute_url(request, f"/recipe/{wanted}")

    def work(connection: sqlite3.Connection) -> Labels:
        own, here = own_facts(connection, wanted, drafts), kitchen(connection)
        made, wrong = _day(asked["made"], here)
        made_on = made or here.today
        rule = keeps(made_on, own.life)
        said = asked["quantity"] or own.one_batch
        thing = Thing(wanted, own.name, made_on, rule, iso(rule.last_on), asked["lot"], said, "")
        return _labels(connection, thing, address, asked, {"made": wrong} if wrong else {})

    return await query(datasette, work)


@page("book/labels.html", needs="labels")
async def of_batch(datasette: Any, request: Any) -> Labels:
    wanted, asked = int(request.url_vars["batch"]), _asked(request)

    def work(connection: sqlite3.Connection) -> Labels:
        of, style = find_batch(connection, wanted), style_of(settings(connection))
        moves, lots = read_freezes(connection, of), read_lots(connection, of)
        rule = keeps_of(of, moves)
        use, said = iso(rule.last_on), asked["quantity"] or say(of.quantity, of.unit, style).text
        earlier = earlier_lot(use, lots)
        thing = Thing(of.recipe_id, of.name, date.fromisoformat(of.made_on), rule, use, of.lot, said,
                      _initials(of.actor), earlier)  # fmt: skip
        return _labels(connection, thing, datasette.absolute_url(request, f"/batch/{of.id}"), asked, {}, of.id)

    return await query(datasette, work)


def _asked(request: Any) -> dict[str, str]:
    return {field: (request.args.get(field) or "").strip()[:60] for field in FIELDS}


def _day(text: str, here: Kitchen) -> tuple[date | None, str]:
    """A day as typed, or words why not."""
    if not text:
        return None, ""
    try:
        return date.fromisoformat(read_date(text, here.settings["date order"])), ""
    except ReadError as error:
        return None, f"{error.what}: {error.do}."


def _whole(text: str, least: int, most: int, usual: int) -> tuple[int, str]:
    """A whole number within limits, or words why not."""
    if not text:
        return usual, ""
    number = whole(text, most, least)
    return (usual, f"Write a whole number from {least} to {most}.") if number is None else (number, "")


def _initials(name: str) -> str:
    return "".join(part[0] for part in name.split() if part)[:3].upper()


def _labels(
    connection: sqlite3.Connection, thing: Thing, address: str, asked: Mapping[str, str], problems: dict[str, str],
    batch: int | None = None,
) -> Labels:  # fmt: skip
    here = kitchen(connection)
    stock = BY_ID.get(asked["stock"], STOCKS[0])
    copies, wrong_copies = _whole(asked["copies"], 1, MOST_LABELS, 1)
    used, wrong_used = _whole(asked["used"], 0, stock.cells - 1, 0)
    use_by, wrong_use = _use_by(asked["use"], thing, here)
    found = {**problems, "copies": wrong_copies, "used": wrong_used, "use": wrong_use}
    known = declared_of(connection, thing.recipe) if thing.recipe in here.facts.recipe_names else None
    records = f"Records of {_said(here.loaded_on)}; confirm with the chef." if here.loaded_on else ""
    label = fitted(Label(
        thing.name, thing.quantity, _said(thing.made_on), _said(use_by), _until(use_by, thing),
        thing.lot or asked["lot"], known.text if known else "Not reviewed: the recipe is no longer here.", records,
        asked["initials"] or thing.initials, address,
    ), stock)  # fmt: skip
    here_is = f"/batch/{batch}" if batch is not None else f"/recipe/{thing.recipe}"
    return Labels(
        thing.name, f"{here_is}/labels", here_is, batch is not None, dict(asked),
        {field: words for field, words in found.items() if words}, stock, STOCKS, label, thing.by_rule, thing.earlier,
        sheets(label, copies, used, stock), _code(address), here.today, here.settings["units"],
    )  # fmt: skip


def _use_by(text: str, thing: Thing, here: Kitchen) -> tuple[date | None, str]:
    """The last day of use: the earliest of the rule's, of a lot within, and the day typed."""
    days = [date.fromisoformat(day) for day in (thing.use_by, thing.earlier and thing.earlier[1]) if day]
    last = min(days, default=None)
    typed, wrong = _day(text, here)
    if typed is None:
        return last, wrong
    if last is not None and typed > last:
        return last, LATER
    return (last, "Before the day it was made.") if typed < thing.made_on else (typed, "")


def _until(use_by: date | None, thing: Thing) -> str:
    """What decided the last day that a label prints, in a word or two; '' where none is printed."""
    if use_by is None:
        return ""
    if thing.use_by is not None and use_by.isoformat() == thing.use_by:
        return f"by {thing.by_rule.by}" if thing.by_rule.by != WRITTEN else WRITTEN
    return "by a lot in it" if thing.earlier and use_by.isoformat() == thing.earlier[1] else WRITTEN


def _said(day: date | None) -> str:
    """A day on a label: 'Wed 25 Nov 2026', never to be read two ways; '' to be filled in by hand."""
    return f"{day:%a} {day.day} {day:%b %Y}" if day else ""


def _code(address: str) -> Markup:
    """The square code that opens an address."""
    code = segno.make(address, error="m", micro=False)
    return Markup(code.svg_inline(omitsize=True, border=4, svgclass="code"))

