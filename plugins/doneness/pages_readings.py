"""/doneness/readings: logs held against the rules; /doneness/readings/import: a logger's file through a mapping."""

from __future__ import annotations

import asyncio
import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from stillroom.db.moments import read_clock, read_instant
from stillroom.db.number import ReadError
from stillroom.db.pieces import COOLS_AS
from stillroom.plugins.core.forms import request_id
from stillroom.plugins.core.pages import page, query
from stillroom.plugins.doneness.bands import BandCount, band_counts
from stillroom.plugins.doneness.bring import CLOCKS, Brought, NotRead, read_logger
from stillroom.plugins.doneness.bring import Mapping as Columns
from stillroom.plugins.doneness.compute import Plan, Question, plan
from stillroom.plugins.doneness.draw import log_chart
from stillroom.plugins.doneness.keep import keep, sent
from stillroom.plugins.doneness.logs import (
    CURVE,
    Judged,
    Learnt,
    carryover_pairs,
    clean_log,
    house_carryover,
    house_h,
    judged_cooling,
    judged_probe,
)
from stillroom.plugins.doneness.pages import question_of
from stillroom.plugins.doneness.rows import Log, Stored, read_cooling, read_pieces, read_probes, said
from stillroom.plugins.doneness.scale import FAHRENHEIT, Scale, scale_of
from stillroom.plugins.doneness.standing import chosen
from stillroom.plugins.physics.errors import HeatError
from stillroom.plugins.physics.judging import CoolingJudgement
from stillroom.plugins.physics.rules import CoolingRule, cooling_rule

SHOWN = 24


@dataclass(frozen=True)
class CoolingLine:
    """One cooling log. judged None with the reason where the readings can't be right; rule: what it is held to."""

    code: str
    name: str
    began: str
    day: str
    count: int
    rule: CoolingRule
    judged: CoolingJudgement | None
    why: str = ""


@dataclass(frozen=True)
class CoreLine:
    """All pieces probed of one programme: where their highest cores fell [°F], by chef, law and published bands."""

    id: str
    name: str
    count: int
    low_f: float
    high_f: float
    band: tuple[float | None, float | None]
    in_band: int
    law_f: float | None
    section: str
    at_law: int
    bands: tuple[BandCount, ...]


@dataclass(frozen=True)
class Readings:
    """What was read, judged. one: the cooling log asked about, with a person's word for its start."""

    cooling: list[CoolingLine]
    total: int
    cores: list[CoreLine]
    curves: list[tuple[str, str, Judged]]
    learnt: list[Learnt]
    one: CoolingLine | None
    started: str
    wrong: str
    zone: str
    scale: Scale


@page("doneness/readings.html", needs="doneness")
async def readings(datasette: Any, request: Any) -> Readings:
    code = (request.args.get("log") or "")[:60]
    started = (request.args.get("started") or "").strip()[:8]
    return await query(datasette, lambda connection: _readings(connection, code, started))


def _readings(connection: sqlite3.Connection, code: str, started: str) -> Readings:
    settings = said(connection)
    zone, logs = settings["time zone"], read_cooling(connection)
    asked = next((log for log in logs if log.code == code), None)
    one, wrong = (None, "") if asked is None else _with_word(asked, started, zone)
    probes = read_probes(connection)
    pieces = {stored.id: stored for stored in read_pieces(connection)}
    curves = _curves(probes, pieces, settings)
    return Readings(
        [_cooling_line(log, zone) for log in logs[:SHOWN]], len(logs),
        _cores(probes, pieces, settings["food code"]),
        [(log.name, _local(log.readings[0][0], zone)[0], judged) for log, judged, _ in curves],
        _learnt(probes, curves), one, started, wrong, zone, scale_of(settings),
    )  # fmt: skip


def _local(at: str, zone: str) -> tuple[str, str]:
    """Day and clock of a UTC moment in the kitchen."""
    local = datetime.fromisoformat(at.replace("Z", "+00:00")).astimezone(ZoneInfo(zone))
    return f"{local:%Y-%m-%d}", f"{local:%H:%M}"


def _cooling_line(log: Log, zone: str, started_s: float | None = None) -> CoolingLine:
    day, began = _local(log.readings[0][0], zone)
    count, rule = len(log.readings), cooling_rule(log.cools_as)
    try:
        judged = judged_cooling(clean_log(log.readings), log.cools_as, started_s)
    except HeatError as error:
        return CoolingLine(log.code, log.name, began, day, count, rule, None, f"{error}")
    return CoolingLine(log.code, log.name, began, day, count, rule, judged)


def _with_word(log: Log, started: str, zone: str) -> tuple[CoolingLine, str]:
    """A log judged from the clock time at which its clock started by a person's word."""
    if not started:
        return _cooling_line(log, zone), ""
    first = log.readings[0][0]
    try:
        at = read_instant(f"{_local(first, zone)[0]} {read_clock(started)}", zone)
    except ReadError as error:
        return _cooling_line(log, zone), f"{error.what}: {error.fix}."
    begun = (_stamp(at) - _stamp(first)).total_seconds()
    wrong = "That is half a day before its first reading." if begun < -43200 else _too_late(log, at)
    return (_cooling_line(log, zone), wrong) if wrong else (_cooling_line(log, zone, begun), "")


def _too_late(log: Log, started: str) -> str:
    """Why a clock can't have started so late; '' where it can."""
    start_f = cooling_rule(log.cools_as).start_f
    if start_f is None:
        is_late = _stamp(started) > _stamp(log.readings[0][0])
        return "It had been read before that: the clock starts with the first reading, or before it." if is_late else ""
    below = next((at for at, temp in log.readings if temp < start_f), None)
    is_late = below is not None and _stamp(started) > _stamp(below)
    return f"The food was below {float(start_f):g} °F before that: look at the readings." if is_late else ""


def _stamp(at: str) -> datetime:
    return datetime.fromisoformat(at.replace("Z", "+00:00"))


def _curves(
    probes: Sequence[Log], pieces: Mapping[str, Stored], settings: Mapping[str, str]
) -> list[tuple[Log, Judged, Plan]]:
    """Probe logs long enough to show a curve, against their programmes."""
    found = []
    for log in probes:
        if len(log.readings) < CURVE or log.recipe_id not in pieces:
            continue
        asked = question_of(pieces[log.recipe_id], settings)
        if asked is None:
            continue
        try:
            found.append((log, judged_probe(clean_log(log.readings), asked), plan(asked)))
        except HeatError:
            continue
    return found


def _cores(probes: Sequence[Log], pieces: Mapping[str, Stored], edition: str) -> list[CoreLine]:
    """Pieces that were probed, by recipe, each by its highest reading: chef's band, law and published bands."""
    temps: dict[str, list[float]] = {}
    for log in probes:
        if len(log.readings) < CURVE:
            temps.setdefault(log.recipe_id, []).append(max(temp for _, temp in log.readings))
    return [_core_line(pieces[key], found, edition) for key, found in sorted(temps.items()) if key in pieces]


def _core_line(stored: Stored, temps: list[float], edition: str) -> CoreLine:
    low, high = stored.band
    inside = [t for t in temps if (low is None or t >= low) and (high is None or t <= high)]
    rule = next(iter(chosen(stored.food, stored.minimum_id, edition)), stored.own)
    law = None if rule is None else float(rule.temp_f)
    reached = 0 if law is None else sum(t >= law for t in temps)
    section = "" if rule is None else rule.section
    return CoreLine(stored.id, stored.name, len(temps), min(temps), max(temps), stored.band, len(inside), law, section,
                    reached, band_counts(stored.food, temps))  # fmt: skip


def _learnt(probes: Sequence[Log], curves: Sequence[tuple[Log, Judged, Plan]]) -> list[Learnt]:
    pairs = [carryover_pairs(log.readings, log.steps) for log in probes]
    runs = [(made, judged.log) for _, judged, made in curves]
    return [house_carryover([pair for pair in pairs if pair is not None]), house_h(runs)]


@dataclass(frozen=True)
class Import:
    """The import form and what the file said. kept: rows written down; token makes a second tap the same rows."""

    typed: Mapping[str, str]
    wrong: Mapping[str, str]
    pieces: Sequence[tuple[str, str]]
    clocks: Mapping[str, str]
    token: str
    probe: Judged | None = None
    cooling: CoolingJudgement | None = None
    count: int = 0
    chart: Any = None
    kept: int | None = None
    scale: Scale = FAHRENHEIT

    def field(self, name: str) -> str:
        return self.typed.get(name, "")

    @property
    def rule(self) -> str:
        """Which cooling rule a pan's log is held to."""
        return self.field("rule") or "cooked"

    @property
    def rules(self) -> Mapping[str, str]:
        """The cooling rules to choose from, in words."""
        return COOLS_AS

    def as_json(self) -> dict[str, Any]:
        return {"form": {k: v for k, v in self.typed.items() if k != "text"}, "wrong": dict(self.wrong),
                "readings": self.count, "kept": self.kept}  # fmt: skip


@page("doneness/import.html", needs="doneness", methods=("GET", "HEAD", "POST"))
async def brought(datasette: Any, request: Any) -> Import:
    typed = {"kind": "probe", "at": "1", "temp": "2", "clock": "clock"}
    if request.method == "POST":
        typed = await sent(request)
    form, settings, stored = await query(datasette, lambda connection: _form(connection, typed, request.method))
    if request.method != "POST":
        return form
    # a long log takes a second: not on a thread that other pages wait for
    made, file = await asyncio.to_thread(_judged, form, settings, stored)
    if typed.get("do") == "keep" and file is not None and not made.wrong:
        return await keep(datasette, request, made, file)
    return made


def _form(
    connection: sqlite3.Connection, typed: dict[str, str], method: str
) -> tuple[Import, dict[str, str], list[Stored]]:
    """The form as it was sent, the settings, and the pieces to choose from."""
    settings, stored = said(connection), read_pieces(connection)
    scale = scale_of(settings)
    first = {} if method == "POST" else {"unit": "C" if scale.is_c else "F"}  # of a form that was sent: never guessed
    typed = {"zone": settings["time zone"]} | first | typed
    token = typed.get("token", "")[:40] or request_id()
    form = Import(typed, {}, [(one.id, one.name) for one in stored], CLOCKS, token, scale=scale)
    return form, settings, stored


def _judged(form: Import, settings: dict[str, str], stored: list[Stored]) -> tuple[Import, Brought | None]:
    typed = form.typed
    try:
        file = read_logger(typed.get("text", ""), columns(typed, settings))
    except NotRead as error:
        return _with(form, wrong={error.field: str(error)}), None
    except HeatError as error:
        return _with(form, wrong={"text": f"{error}."}), None
    asked = next((question_of(one, settings) for one in stored if one.id == typed.get("recipe")), None)
    return _answer(form, file, asked), file


def columns(typed: Mapping[str, str], settings: Mapping[str, str]) -> Columns:
    """The mapping of a form.

    Raises:
        NotRead: a choice that is not offered.
    """
    if typed.get("clock") not in CLOCKS:
        raise NotRead("clock", "Choose how the file tells the time.")
    if typed.get("unit") not in {"C", "F"}:
        raise NotRead("unit", "Choose °F or °C: the scale is never guessed.")
    if typed.get("rule", "") not in {"", *COOLS_AS}:
        raise NotRead("rule", "Choose what is cooling.")
    zone = typed.get("zone") or settings["time zone"]
    try:
        ZoneInfo(zone)
    except (KeyError, ValueError, OSError):
        raise NotRead("zone", "There is no such time zone: write it as Europe/London.") from None
    order, mark = settings["date order"], settings["decimal mark"]
    return Columns(typed.get("at", ""), typed.get("temp", ""), typed["clock"], typed["unit"], zone, order, mark)


def _answer(form: Import, file: Brought, asked: Question | None) -> Import:
    log = file.log
    temps = tuple(float(reading.temp_f) for reading in log.readings)
    scale = form.scale
    alt = f"{len(temps)} readings over {log.times_s[-1] / 60:.0f} minutes, highest {scale.deg(max(temps), 1)}"
    if form.typed.get("kind") == "cooling":
        picture = log_chart(log.times_s, temps, None, alt, scale)
        return _with(form, cooling=judged_cooling(log, form.rule), count=len(temps), chart=picture)
    picture = log_chart(log.times_s, temps, asked, alt, scale)
    return _with(form, probe=judged_probe(log, asked), count=len(temps), chart=picture)


def _with(form: Import, **values: Any) -> Import:
    return replace(form, **values)
