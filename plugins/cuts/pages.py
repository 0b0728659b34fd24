"""/ageing and /ageing/LOT: each lot's weight, what it will be on its day, what a usable kilogram costs."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any
from urllib.parse import unquote

from stillroom.db.exact import to_decimal
from stillroom.db.lots import Lot, Promise, read_cuts, read_lots, read_promises, usable_g
from stillroom.plugins.core.export import page_or_file
from stillroom.plugins.core.format import amount, beside_celsius, large, money, percent, plain
from stillroom.plugins.core.forms import request_id
from stillroom.plugins.core.pages import NotFound, page, query
from stillroom.plugins.cuts.asked import Asked, read_asked
from stillroom.plugins.cuts.compute import (
    KILO,
    Keep,
    Ready,
    Weight,
    by_code,
    cost_per_usable_kg,
    curve,
    portions,
    ready_list,
    weight_on,
    wrong_weighing,
)
from stillroom.plugins.cuts.plots import weight_plot

UNKNOWN = "–"


def _cost(lot: Lot, weight: Weight, keep: Keep) -> tuple[str, Fraction | None]:
    """Money for one usable kg or lb in words, and for a kg as a number."""
    try:
        each = cost_per_usable_kg(lot, weight.grams, weight.on, keep)
    except ValueError as error:
        return f"refused: {error}", None
    if each is not None:
        return money(each * large("g")[1] / KILO), each
    return ("no price" if lot.price is None else "not known"), None


def weight_words(weight: Weight, system: str) -> str:
    """'6.39 kg', '6.2 kg (6.1 to 6.3)' or why there is none."""
    if weight.known_g is not None:
        return amount(weight.known_g, "g", system)
    if weight.band is None:
        return weight.refused
    low, high = (amount(Fraction(round(x)), "g", system) for x in weight.band)
    return f"{amount(weight.grams, 'g', system)} ({low} to {high})"


def room_words(room_f: float, system: str) -> str:
    """A temperature of the room as the kitchen reads it: 35.6 °F is '2' where it is metric."""
    return plain((room_f - 32) / 1.8 if system == "metric" else room_f, 1)


@dataclass(frozen=True)
class LotSaid:
    """One lot with what is known now and on its target day."""

    lot: Lot
    now: Weight
    then: Weight | None
    asked: Asked

    @property
    def row(self) -> dict[str, str]:
        """The lot as the page says it."""
        lot, system = self.lot, self.asked.system
        out = sorted({f"{words} on {w.on.day} {w.on:%b}" for w in lot.weighings for words in w.out_of_range})
        then = self.then
        loss = (lot.start_g - lot.last.weight_g) / lot.start_g
        return {
            "code": lot.code, "item": lot.item, "cut": lot.cut.name if lot.cut else "no cut named", "place": lot.place,
            "days": str(lot.days(self.asked.today)), "target": lot.target.isoformat() if lot.target else "",
            "start": amount(lot.start_g, "g", system), "weight": amount(lot.last.weight_g, "g", system),
            "weighed": lot.last.on.isoformat(), "loss": percent(loss), "cost": _cost(lot, self.now, self.asked.keep)[0],
            "then": weight_words(then, system) if then else UNKNOWN,
            "usable": amount(usable_g(lot, then.grams), "g", system) if then and then.grams else UNKNOWN,
            "portions": _count(portions(lot, then.grams)) if then else UNKNOWN,
            "cost_then": _cost(lot, then, self.asked.keep)[0] if then and then.grams else UNKNOWN,
            "out": "; ".join(out), "wrong": wrong_weighing(lot), "provisional": EARLY if _is_early(then) else "",
            "over": lot.broken_on.isoformat() if lot.broken_on else "",
        }  # fmt: skip

    def as_json(self) -> dict[str, Any]:
        lot, then = self.lot, self.then
        each = _cost(lot, self.now, self.asked.keep)[1], _cost(lot, then, self.asked.keep)[1] if then else None
        return {
            "lot": lot.code, "item": lot.item, "started_on": lot.started.isoformat(),
            "days": lot.days(self.asked.today),
            "start_g": str(lot.start_g), "weight_g": str(lot.last.weight_g), "weighed_on": lot.last.on.isoformat(),
            "target_on": lot.target.isoformat() if lot.target else None,
            "target_weight_g": _whole(then.grams) if then else None,
            "target_band_g": [round(x) for x in then.band] if then and then.band else None,
            "refused": then.refused or None if then else None, "weigh_again": wrong_weighing(lot) or None,
            "target_usable_g": _whole(usable_g(lot, then.grams)) if then else None,
            "target_portions": portions(lot, then.grams) if then else None,
            "cost_per_usable_kg": [None if x is None else str(to_decimal(x, 2)) for x in each],
            "out_of_range": [
                {"on": w.on.isoformat(), "what": list(w.out_of_range)} for w in lot.weighings if w.out_of_range
            ],
        }  # fmt: skip


EARLY = "early: not final before day 14"


def _is_early(weight: Weight | None) -> bool:
    return weight is not None and weight.forecast is not None and weight.forecast.provisional


def _whole(number: Fraction | None) -> int | None:
    return None if number is None else round(number)


def _count(number: int | None) -> str:
    return "not known" if number is None else str(number)


@dataclass(frozen=True)
class Ageing:
    """Lots that hang, and those ready for a service.

    cuts: id and name of every cut that a lot hangs for; trouble: why a promise was not written; typed: what it said.
    """

    asked: Asked
    lots: list[LotSaid]
    ready: list[Ready]
    cuts: list[tuple[str, str]]
    trouble: tuple[str, ...] = ()
    typed: dict[str, str] = field(default_factory=dict)

    @property
    def request_id(self) -> str:
        """A new name for the next form; the one sent where it comes back."""
        return self.typed.get("request_id") or request_id()

    @property
    def ready_rows(self) -> list[dict[str, Any]]:
        system = self.asked.system
        return [{"code": r.lot.code, "item": r.lot.item, "since": r.lot.target, "days": r.lot.days(self.asked.service),
                 "weight": weight_words(r.weight, system), "unpromised": r.unpromised,
                 "is_known": r.portions is not None, "portions": _count(r.portions), "low": _count(r.low_portions),
                 "taken": r.taken, "promised": [promise_said(p, system) for p in r.promised]}
                for r in self.ready]  # fmt: skip

    @property
    def has_one_cut(self) -> bool:
        """Whether portions of the lots shown may be added up."""
        return len({r.lot.cut.id if r.lot.cut else "" for r in self.ready}) <= 1

    @property
    def missing(self) -> int:
        """Portions needed that no ready lot has."""
        return self.asked.needed - sum(r.taken for r in self.ready)

    @property
    def portion(self) -> str:
        """The weight of a portion asked for, in words; '' where each cut's own is meant."""
        each = self.asked.portion_g
        return "" if each is None else amount(each, "g", self.asked.system)

    def as_json(self) -> dict[str, Any]:
        ready = [
            {"lot": r.lot.code, "portions": r.portions, "portions_low": r.low_portions, "unpromised": r.unpromised,
             "taken": r.taken, "promised": [promise_json(p) for p in r.promised]}
            for r in self.ready
        ]  # fmt: skip
        asked = self.asked
        each = None if asked.portion_g is None else str(asked.portion_g)
        return {"on": asked.today.isoformat(), "service_on": asked.service.isoformat(), "currency": asked.currency,
                "cut": asked.cut or None,
                "portion_g": each, "wrong": [*asked.wrong, *self.trouble],
                "lots": [x.as_json() for x in self.lots], "ready": ready, "missing": self.missing}  # fmt: skip


def promise_said(p: Promise, system: str) -> dict[str, Any]:
    """A promise as a page says it."""
    each = amount(p.each_g, "g", system)
    return {"entry": p.entry, "on": p.on, "words": f"{p.portions} of {each}", "what_for": p.what_for, "by": p.by}


def promise_json(p: Promise) -> dict[str, Any]:
    """A promise as data."""
    return {"entry": p.entry, "on": p.on.isoformat(), "portions": p.portions, "portion_g": str(p.each_g),
            "for": p.what_for, "by": p.by}  # fmt: skip


def _said(lot: Lot, asked: Asked) -> LotSaid:
    then = None if lot.target is None else weight_on(lot, max(lot.target, lot.last.on))
    return LotSaid(lot, weight_on(lot, lot.last.on), then, asked)


def read_ageing(connection: sqlite3.Connection, args: Any, trouble: tuple[str, ...] = ()) -> Ageing:
    """The page's answer for an address or a form; typed is kept only where there is trouble."""
    asked = read_asked(connection, args)
    known = read_cuts(connection, asked.today.isoformat())
    hanging = [x for x in read_lots(connection, asked.today, known) if x.broken_on is None]
    cuts = sorted({x.cut.id for x in hanging if x.cut})
    lots = [x for x in hanging if not asked.cut or (x.cut is not None and x.cut.id == asked.cut)]
    promises = read_promises(connection, asked.today)
    ready = ready_list(lots, asked.service, asked.needed, asked.portion_g, promises)
    typed = {k: str(args.get(k) or "")[:200] for k in ("lot", "portions", "what_for", "request_id")} if trouble else {}
    return Ageing(asked, [_said(x, asked) for x in lots], ready, [(c, known[c].name) for c in cuts], trouble, typed)


@page("cuts/ageing.html", needs="ageing")
async def ageing(datasette: Any, request: Any) -> Any:
    def work(connection: sqlite3.Connection) -> Ageing:
        return read_ageing(connection, request.args)

    answer: Ageing = await query(datasette, work)
    name = f"ageing-{answer.asked.today}"
    columns = [title.format(answer.asked.per, answer.asked.currency) for title in COLUMNS.values()]
    return await page_or_file(request, answer, name, columns, lambda: [file_row(x) for x in answer.lots])


# A lot's row in a file: what the page calls it -> the heading.
COLUMNS = {
    "code": "lot", "item": "item", "cut": "cut", "place": "place", "days": "days", "target": "ready on",
    "start": "start weight", "weight": "weight", "weighed": "weighed on", "loss": "lost",
    "cost": "usable {} costs now, {}", "then": "weight on its day", "usable": "usable on its day",
    "portions": "portions on its day", "cost_then": "usable {} costs on its day, {}", "out": "out of range",
    "wrong": "weigh again", "provisional": "forecast",
}  # fmt: skip


def file_row(said: LotSaid) -> list[str]:
    """One lot under COLUMNS, in the words of the page."""
    row = said.row | {"out": beside_celsius(said.row["out"], said.asked.system)}
    return [row[key] for key in COLUMNS]


@dataclass(frozen=True)
class LotPage:
    """One lot, its weighings and its curve, and what is promised of it."""

    said: LotSaid
    promises: list[Promise]

    @property
    def promised(self) -> list[dict[str, Any]]:
        return [promise_said(p, self.said.asked.system) for p in self.promises]

    @property
    def chart(self) -> Any:
        """Weight over days with the forecast's band; None before the first weighing."""
        lot, found = self.said.lot, curve(self.said.lot)
        if len(found.weighed) < 2:
            return None
        first, last = found.weighed[0], found.weighed[-1]
        now = f"{last[1] / 1000:.2f} kg on day {last[0]:.0f}"
        alt = f"Weight of {lot.code}: {first[1] / 1000:.2f} kg at the start, {now}"
        return weight_plot(found, lot.target_days, alt)

    @property
    def rows(self) -> list[dict[str, str]]:
        """Weighings, the newest first."""
        lot, system = self.said.lot, self.said.asked.system
        return [{"on": w.on.isoformat(), "day": str(lot.days(w.on)), "weight": amount(w.weight_g, "g", system),
                 "loss": percent((lot.start_g - w.weight_g) / lot.start_g),
                 "room": UNKNOWN if w.room_f is None else room_words(w.room_f, system),
                 "humidity": UNKNOWN if w.humidity is None else f"{w.humidity:g}",
                 "out": beside_celsius("; ".join(w.out_of_range), system)}
                for w in reversed(lot.weighings)]  # fmt: skip

    def as_json(self) -> dict[str, Any]:
        rows = [{"on": w.on.isoformat(), "weight_g": str(w.weight_g), "room_f": w.room_f, "humidity_pct": w.humidity}
                for w in self.said.lot.weighings]  # fmt: skip
        ahead = [{"day": d, "low_g": round(low), "high_g": round(high)} for d, low, high in curve(self.said.lot).band]
        return {**self.said.as_json(), "weighings": rows, "forecast": ahead,
                "promised": [promise_json(p) for p in self.promises]}  # fmt: skip


@page("cuts/lot.html", needs="ageing")
async def lot(datasette: Any, request: Any) -> Any:
    wanted = unquote(request.url_vars["lot"])

    def work(connection: sqlite3.Connection) -> LotPage:
        asked = read_asked(connection, request.args)
        found = by_code(read_lots(connection, asked.today)).get(wanted)
        if found is None:
            raise NotFound("There is no ageing lot of that name. The page Ageing lists all that hang.")
        return LotPage(_said(found, asked), [p for p in read_promises(connection, asked.today) if p.lot == wanted])

    answer: LotPage = await query(datasette, work)
    name = "".join(c if c.isascii() and (c.isalnum() or c in "-_") else "-" for c in wanted)
    columns = ["on", "day", "weight", "loss", f"room {answer.said.asked.degree}", "humidity %", "out of range"]
    return await page_or_file(request, answer, name, columns, lambda: [list(r.values()) for r in answer.rows])
