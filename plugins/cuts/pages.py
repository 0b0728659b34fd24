"""/ageing and /ageing/LOT: each lot's weight, what it will be on its day, what a usable kilogram costs."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Any
from urllib.parse import unquote

from stillroom.db.exact import to_decimal
from stillroom.db.kitchen import day_of, settings
from stillroom.db.quantity import ReadError, read_date, read_number
from stillroom.plugins.core.export import file_response
from stillroom.plugins.core.format import amount, money, percent
from stillroom.plugins.core.pages import NotFound, page, query
from stillroom.plugins.cuts.compute import (
    Keep,
    Lot,
    Ready,
    Weight,
    by_code,
    cost_per_usable_kg,
    curve,
    portions,
    ready_list,
    usable_g,
    weight_on,
    wrong_weighing,
)
from stillroom.plugins.cuts.plots import weight_plot
from stillroom.plugins.cuts.rows import read_lots

UNKNOWN = "–"


@dataclass(frozen=True)
class Asked:
    """The kitchen's day, the service asked about, portions needed, costs of keeping; wrong: what could not be read."""

    today: date
    service: date
    needed: int
    keep: Keep
    currency: str
    system: str
    said: dict[str, str]
    wrong: tuple[str, ...]


def read_asked(connection: sqlite3.Connection, args: Any) -> Asked:
    """What an address asks for; a wrong figure is said and left out."""
    house = settings(connection)
    today, wrong = day_of(house), []
    said = {name: (args.get(name) or "").strip()[:30] for name in ("on", "need", "interest", "space")}
    service = today
    try:
        service = date.fromisoformat(read_date(said["on"])) if said["on"] else today
    except ReadError as error:
        wrong.append(f"{error.what}: {error.fix}.")
    figures = [_figure(said[name], name, wrong) for name in ("need", "interest", "space")]
    if service < today:
        wrong.append("That service is past: today is taken.")
        service = today
    keep = Keep(figures[1] / 100, figures[2])
    return Asked(today, service, int(figures[0]), keep, house["currency"], house["units"], said, tuple(wrong))


def _figure(text: str, name: str, wrong: list[str]) -> Fraction:
    try:
        found = read_number(text) if text else Fraction(0)
        if found < 0 or found > 10**6:
            raise ReadError("number-range", f"{name} is from 0 to 1,000,000", "", "write it so")
        return found
    except ReadError as error:
        wrong.append(f"{error.what}: {error.fix}.")
        return Fraction(0)


def _cost(lot: Lot, weight: Weight, keep: Keep) -> tuple[str, Fraction | None]:
    """Money for one usable kg in words, and as a number."""
    try:
        each = cost_per_usable_kg(lot, weight.grams, weight.on, keep)
    except ValueError as error:
        return f"refused: {error}", None
    if each is not None:
        return money(each), each
    return ("no price" if lot.price is None else "not known"), None


def weight_words(weight: Weight, system: str) -> str:
    """'6.39 kg', '6.2 kg (6.1 to 6.3)' or why there is none."""
    if weight.known_g is not None:
        return amount(weight.known_g, "g", system)
    if weight.band is None:
        return weight.refused
    low, high = (amount(Fraction(round(x)), "g", system) for x in weight.band)
    return f"{amount(weight.grams, 'g', system)} ({low} to {high})"


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
    """Lots that hang, and those ready for a service."""

    asked: Asked
    lots: list[LotSaid]
    ready: list[Ready]

    @property
    def ready_rows(self) -> list[dict[str, Any]]:
        system = self.asked.system
        return [{"code": r.lot.code, "item": r.lot.item, "since": r.lot.target,
                 "weight": weight_words(r.weight, system),
                 "portions": _count(r.portions), "low": _count(r.low_portions), "taken": r.taken}
                for r in self.ready]  # fmt: skip

    @property
    def missing(self) -> int:
        """Portions needed that no ready lot has."""
        return self.asked.needed - sum(r.taken for r in self.ready)

    def as_json(self) -> dict[str, Any]:
        ready = [
            {"lot": r.lot.code, "portions": r.portions, "portions_low": r.low_portions, "taken": r.taken}
            for r in self.ready
        ]
        asked = self.asked
        return {"on": asked.today.isoformat(), "service_on": asked.service.isoformat(), "wrong": list(asked.wrong),
                "lots": [x.as_json() for x in self.lots], "ready": ready, "missing": self.missing}  # fmt: skip


def _said(lot: Lot, asked: Asked) -> LotSaid:
    then = None if lot.target is None else weight_on(lot, max(lot.target, lot.last.on))
    return LotSaid(lot, weight_on(lot, lot.last.on), then, asked)


@page("cuts/ageing.html", needs="ageing")
async def ageing(datasette: Any, request: Any) -> Any:
    def work(connection: sqlite3.Connection) -> Ageing:
        asked = read_asked(connection, request.args)
        lots = [x for x in read_lots(connection, asked.today) if x.broken_on is None]
        return Ageing(asked, [_said(x, asked) for x in lots], ready_list(lots, asked.service, asked.needed))

    answer: Ageing = await query(datasette, work)
    kind = request.url_vars.get("kind")
    if kind not in {"csv", "xlsx"}:
        return answer
    rows = [list(x.row.values()) for x in answer.lots]
    columns = list(answer.lots[0].row) if answer.lots else ["code"]
    return await file_response(kind, columns, rows, f"ageing-{answer.asked.today}")


@dataclass(frozen=True)
class LotPage:
    """One lot, its weighings and its curve."""

    said: LotSaid

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
                 "room": UNKNOWN if w.room_f is None else f"{w.room_f:g}",
                 "humidity": UNKNOWN if w.humidity is None else f"{w.humidity:g}", "out": "; ".join(w.out_of_range)}
                for w in reversed(lot.weighings)]  # fmt: skip

    def as_json(self) -> dict[str, Any]:
        rows = [{"on": w.on.isoformat(), "weight_g": str(w.weight_g), "room_f": w.room_f, "humidity_pct": w.humidity}
                for w in self.said.lot.weighings]  # fmt: skip
        ahead = [{"day": d, "low_g": round(low), "high_g": round(high)} for d, low, high in curve(self.said.lot).band]
        return {**self.said.as_json(), "weighings": rows, "forecast": ahead}


@page("cuts/lot.html", needs="ageing")
async def lot(datasette: Any, request: Any) -> Any:
    wanted = unquote(request.url_vars["lot"])

    def work(connection: sqlite3.Connection) -> LotPage:
        asked = read_asked(connection, request.args)
        found = by_code(read_lots(connection, asked.today)).get(wanted)
        if found is None:
            raise NotFound("There is no ageing lot of that name. The page Ageing lists all that hang.")
        return LotPage(_said(found, asked))

    answer: LotPage = await query(datasette, work)
    kind = request.url_vars.get("kind")
    if kind not in {"csv", "xlsx"}:
        return answer
    rows = [list(r.values()) for r in answer.rows]
    name = "".join(c if c.isascii() and (c.isalnum() or c in "-_") else "-" for c in wanted)
    columns = ["on", "day", "weight", "loss", "room °F", "humidity %", "out of range"]
    return await file_response(kind, columns, rows, name)
