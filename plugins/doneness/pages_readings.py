"""/doneness/readings: logs held against the rules: what cooled, what was heated again, what was cooked."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from stillroom.db.moments import read_before, read_clock, read_instant
from stillroom.db.number import ReadError
from stillroom.db.pieces import UNLIKELY_START_H
from stillroom.plugins.core.pages import page, query
from stillroom.plugins.doneness.bands import BandCount, band_counts
from stillroom.plugins.doneness.compute import Plan, plan
from stillroom.plugins.doneness.logs import (
    CURVE,
    Heated,
    Judged,
    Learnt,
    carryover_pairs,
    clean_log,
    house_carryover,
    house_h,
    judged_cooling,
    judged_probe,
    judged_reheat,
    seconds_before,
    unruled,
)
from stillroom.plugins.doneness.pages import question_of
from stillroom.plugins.doneness.rows import Log, Stored, read_cooling, read_pieces, read_probes, said
from stillroom.plugins.doneness.scale import Scale, scale_of
from stillroom.plugins.doneness.standing import chosen
from stillroom.plugins.physics.errors import HeatError
from stillroom.plugins.physics.judging import CoolingJudgement
from stillroom.plugins.physics.readings import is_beyond_boiling
from stillroom.plugins.physics.rules import CoolingRule, cooling_rule

SHOWN = 24


@dataclass(frozen=True)
class CoolingLine:
    """One cooling log. judged None with the reason where the readings can't be right; rule: what it is held to.

    started: when what was not cooked was made or came in, by the kitchen's clock; '' where nobody said.
    """

    code: str
    name: str
    began: str
    day: str
    count: int
    rule: CoolingRule
    judged: CoolingJudgement | None
    why: str = ""
    started: str = ""


@dataclass(frozen=True)
class CoreLine:
    """All pieces probed of one programme: where their highest cores fell [°F], by chef, law and published bands.

    impossible: readings left out, hotter than moist food boils.
    """

    id: str
    name: str
    count: int
    low_f: float | None
    high_f: float | None
    band: tuple[float | None, float | None]
    in_band: int
    law_f: float | None
    section: str
    at_law: int
    bands: tuple[BandCount, ...]
    impossible: int


@dataclass(frozen=True)
class ReheatLine:
    """One log of food heated again. found None with the reason where the readings can't be right."""

    name: str
    day: str
    began: str
    count: int
    found: Heated | None
    why: str = ""


@dataclass(frozen=True)
class Readings:
    """What was read, judged. one: the cooling log asked about, with a person's word for its start."""

    cooling: list[CoolingLine]
    total: int
    reheats: list[ReheatLine]
    reheats_total: int
    cores: list[CoreLine]
    curves: list[tuple[str, str, Judged]]
    doubted: list[tuple[str, str, str]]
    learnt: list[Learnt]
    one: CoolingLine | None
    started: str
    wrong: str
    zone: str
    scale: Scale
    edition: str


@page("doneness/readings.html", needs="doneness")
async def readings(datasette: Any, request: Any) -> Readings:
    code = (request.args.get("log") or "")[:60]
    started = (request.args.get("started") or "").strip()[:8]
    return await query(datasette, lambda connection: _readings(connection, code, started))


def _readings(connection: sqlite3.Connection, code: str, started: str) -> Readings:
    settings = said(connection)
    zone, logs = settings["time zone"], read_cooling(connection)
    asked = next((log for log in logs if log.code == code), None)
    one, wrong = (None, "") if asked is None else _with_word(asked, started, zone, settings["food code"])
    probes, again = _apart(read_probes(connection))
    pieces = {stored.id: stored for stored in read_pieces(connection)}
    curves, doubted = _curves(probes, pieces, settings)
    return Readings(
        [_cooling_line(log, zone, settings["food code"]) for log in logs[:SHOWN]], len(logs),
        [_reheat_line(log, zone, settings["food code"]) for log in again[:SHOWN]], len(again),
        _cores(probes, pieces, settings["food code"]),
        [(log.name, _local(log.readings[0][0], zone)[0], judged) for log, judged, _ in curves],
        [(log.name, _local(log.readings[0][0], zone)[0], why) for log, why in doubted],
        _learnt(probes, curves), one, started or (one.started if one else ""), wrong, zone, scale_of(settings),
        settings["food code"],
    )  # fmt: skip


def _apart(probes: Sequence[Log]) -> tuple[list[Log], list[Log]]:
    """Pieces that were cooked, and food heated again: neither is held to the other's rule, nor learnt from as it."""
    return [log for log in probes if not log.held_to], [log for log in probes if log.held_to]


def _reheat_line(log: Log, zone: str, edition: str) -> ReheatLine:
    (day, began), count = _local(log.readings[0][0], zone), len(log.readings)
    name = ", ".join(filter(None, (log.name, log.code))) or "not said what"
    try:
        return ReheatLine(name, day, began, count, judged_reheat(clean_log(log.readings), log.held_to, edition))
    except HeatError as error:
        return ReheatLine(name, day, began, count, None, f"{error}")


def _local(at: str, zone: str) -> tuple[str, str]:
    """Day and clock of a UTC moment in the kitchen."""
    local = datetime.fromisoformat(at.replace("Z", "+00:00")).astimezone(ZoneInfo(zone))
    return f"{local:%Y-%m-%d}", f"{local:%H:%M}"


def _cooling_line(log: Log, zone: str, edition: str, begun_at: str = "") -> CoolingLine:
    """A log judged from where its clock started by a person's word: `begun_at` (UTC), else as it is written down."""
    (day, began), count, rule = _local(log.readings[0][0], zone), len(log.readings), cooling_rule(log.held_to)
    at = begun_at or (log.started_at if rule.start_f is None else "")
    started = _local(at, zone)[1] if at else ""
    begun_s = seconds_before(at, log.readings[0][0]) if at else None
    if why := unruled(log.held_to, edition):
        return CoolingLine(log.code, log.name, began, day, count, rule, None, why, started)
    try:
        judged = judged_cooling(clean_log(log.readings, cools=True), log.held_to, begun_s)
    except HeatError as error:
        return CoolingLine(log.code, log.name, began, day, count, rule, None, f"{error}", started)
    return CoolingLine(log.code, log.name, began, day, count, rule, judged, "", started)


def _with_word(log: Log, started: str, zone: str, edition: str) -> tuple[CoolingLine, str]:
    """A log judged from the clock time at which its clock started by a person's word."""
    if not started:
        return _cooling_line(log, zone, edition), ""
    first = log.readings[0][0]
    try:
        clock, is_cooked = read_clock(started), cooling_rule(log.held_to).start_f is not None
        day = _local(first, zone)[0]
        at = read_instant(f"{day} {clock}", zone) if is_cooked else read_before(clock, first, zone)
    except ReadError as error:
        return _cooling_line(log, zone, edition), f"{error.what}: {error.do}."
    is_long = seconds_before(at, first) < -UNLIKELY_START_H * 3600
    wrong = "That is half a day before its first reading." if is_long else _too_late(log, at)
    return _cooling_line(log, zone, edition, "" if wrong else at), wrong


def _too_late(log: Log, started: str) -> str:
    """Why a clock can't have started so late; '' where it can."""
    start_f = cooling_rule(log.held_to).start_f
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
) -> tuple[list[tuple[Log, Judged, Plan]], list[tuple[Log, str]]]:
    """Probe logs long enough to show a curve, against their programmes; and those that can't be judged, with why."""
    found, doubted = [], []
    for log in probes:
        if len(log.readings) < CURVE or log.recipe_id not in pieces:
            continue
        asked = question_of(pieces[log.recipe_id], settings)
        if asked is None:
            continue
        try:
            found.append((log, judged_probe(clean_log(log.readings), asked), plan(asked)))
        except HeatError as error:
            doubted.append((log, f"{error}"))
    return found, doubted


def _cores(probes: Sequence[Log], pieces: Mapping[str, Stored], edition: str) -> list[CoreLine]:
    """Pieces that were probed, by recipe, each by its highest reading: chef's band, law and published bands."""
    temps: dict[str, list[float]] = {}
    for log in probes:
        if len(log.readings) < CURVE:
            temps.setdefault(log.recipe_id, []).append(max(temp for _, temp in log.readings))  # °F
    return [_core_line(pieces[key], found, edition) for key, found in sorted(temps.items()) if key in pieces]


def _core_line(stored: Stored, read: list[float], edition: str) -> CoreLine:
    temps = [temp for temp in read if not is_beyond_boiling(temp)]
    low, high = stored.band
    inside = [t for t in temps if (low is None or t >= low) and (high is None or t <= high)]
    held = stored.held(edition)
    rule = next(iter(chosen(held)), stored.own)
    law = None if rule is None else float(rule.temp_f)
    reached = 0 if law is None else sum(t >= law for t in temps)
    section = "" if rule is None else rule.section
    return CoreLine(stored.id, stored.name, len(temps), min(temps, default=None), max(temps, default=None), stored.band,
                    len(inside), law, section, reached, band_counts(stored.food, temps, held.taken.worked),
                    len(read) - len(temps))  # fmt: skip


def _learnt(probes: Sequence[Log], curves: Sequence[tuple[Log, Judged, Plan]]) -> list[Learnt]:
    right = [log for log in probes if not any(is_beyond_boiling(temp) for _, temp in log.readings)]
    pairs = [carryover_pairs(log.readings, log.steps) for log in right]
    runs = [(made, judged.log) for _, judged, made in curves]
    return [house_carryover([pair for pair in pairs if pair is not None]), house_h(runs)]
