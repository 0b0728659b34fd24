"""/doneness/readings/import: a logger's file through a mapping, judged by what its curve is."""

from __future__ import annotations

import asyncio
import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any
from zoneinfo import ZoneInfo

from stillroom.db.number import ReadError
from stillroom.db.pieces import COOLS_AS, REHEATS, UNLIKELY_START_H
from stillroom.plugins.core.forms import no_text, request_id
from stillroom.plugins.core.pages import page, query
from stillroom.plugins.doneness.bring import CLOCKS, MARKS, Brought, NotRead, before_on, offset_of, read_logger
from stillroom.plugins.doneness.bring import Mapping as Columns
from stillroom.plugins.doneness.compute import Question
from stillroom.plugins.doneness.draw import log_chart
from stillroom.plugins.doneness.keep import keep, sent
from stillroom.plugins.doneness.logs import (
    Heated,
    Judged,
    judged_cooling,
    judged_probe,
    judged_reheat,
    seconds_before,
    unruled,
)
from stillroom.plugins.doneness.pages import question_of
from stillroom.plugins.doneness.rows import Stored, read_pieces, said
from stillroom.plugins.doneness.scale import FAHRENHEIT, Scale, scale_of
from stillroom.plugins.physics.errors import HeatError
from stillroom.plugins.physics.judging import CoolingJudgement
from stillroom.plugins.physics.readings import wrong_scale
from stillroom.plugins.physics.rules import cooling_rule

KINDS = {"probe": "a core while cooking", "reheat": "food heated again", "cooling": "a cooling pan"}


@dataclass(frozen=True)
class Import:
    """The import form and what the file said.

    Attributes:
        kept: rows written down.
        token: makes a second tap the same rows.
        ask: what is unlikely, and asked again.
        started_at: when what was not cooked was made or came in, UTC; '' where nobody said.
        unruled: why a cooling is held to no rule; '' where it is.
    """

    typed: Mapping[str, str]
    wrong: Mapping[str, str]
    pieces: Sequence[tuple[str, str]]
    clocks: Mapping[str, str]
    token: str
    probe: Judged | None = None
    cooling: CoolingJudgement | None = None
    reheat: Heated | None = None
    started_at: str = ""
    ask: Mapping[str, str] = field(default_factory=dict)
    count: int = 0
    chart: Any = None
    kept: int | None = None
    scale: Scale = FAHRENHEIT
    unruled: str = ""

    def field(self, name: str) -> str:
        return self.typed.get(name, "")

    @property
    def rule(self) -> str:
        """Which cooling rule a pan's log is held to."""
        return self.field("rule") or "cooked"

    @property
    def how(self) -> str:
        """How food is heated again: the step of its readings."""
        return self.field("how") or "reheat"

    @property
    def kinds(self) -> Mapping[str, str]:
        """What a file may be of, in words."""
        return KINDS

    @property
    def ways(self) -> Mapping[str, str]:
        """How food may be heated again, in words."""
        return REHEATS

    @property
    def marks(self) -> Mapping[str, str]:
        """Decimal marks to choose from, in words."""
        return MARKS

    @property
    def rules(self) -> Mapping[str, str]:
        """The cooling rules to choose from, in words."""
        return COOLS_AS

    def as_json(self) -> dict[str, Any]:
        return {"form": {k: v for k, v in self.typed.items() if k != "text"}, "wrong": dict(self.wrong),
                "ask": dict(self.ask), "readings": self.count, "kept": self.kept, "judged": self._limits(),
                "judged_as": self.probe.judged_as if self.probe else ""}  # fmt: skip

    def _limits(self) -> list[dict[str, Any]]:
        """Every limit with its answer."""
        if self.reheat is not None:
            return self.reheat.as_data()
        if self.unruled:
            return [{"section": "3-501.14", "verdict": "not judged", "why": self.unruled}]
        parts = self.cooling.stages if self.cooling else self.probe.minimums if self.probe else ()
        return [{"section": one.section, "verdict": one.verdict, "why": one.reason} for one in parts]


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
    if typed.get("do") == "keep" and file is not None and not made.wrong and not made.ask:
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
    if no_text(typed.get("text", "")):
        return _with(replace(form, typed={**typed, "text": ""}), wrong={"text": no_text(typed["text"])}), None
    try:
        file = read_logger(typed.get("text", ""), columns(typed, settings))
    except NotRead as error:
        return _with(form, wrong={error.field: str(error)}), None
    except HeatError as error:
        return _with(form, wrong={"text": f"{error}."}), None
    doubt = wrong_scale(file.log, cools=typed.get("kind") == "cooling", read_as=typed["unit"])
    if doubt:
        wrong = {"unit": f"Not judged until the scale is confirmed: {doubt}"}
        return _with(form, wrong=wrong, count=len(file.log.readings)), None
    if typed.get("kind") == "reheat":
        return _reheated(form, file, settings["food code"]), file
    if typed.get("kind") == "cooling":
        return _cooled(form, file, settings), file
    asked = next((question_of(one, settings) for one in stored if one.id == typed.get("recipe")), None)
    return _cooked(form, file, asked), file


def columns(typed: Mapping[str, str], settings: Mapping[str, str]) -> Columns:
    """The mapping of a form.

    Raises:
        NotRead: a choice that is not offered.
    """
    if typed.get("clock") not in CLOCKS:
        raise NotRead("clock", "Choose how the file tells the time.")
    if typed.get("unit") not in {"C", "F"}:
        raise NotRead("unit", "Choose °F or °C: the scale is never guessed.")
    if typed.get("kind", "") not in {"", *KINDS}:
        raise NotRead("kind", "Choose what the file is of.")
    if typed.get("rule", "") not in {"", *COOLS_AS}:
        raise NotRead("rule", "Choose what is cooling.")
    if typed.get("how", "") not in {"", *REHEATS}:
        raise NotRead("how", "Choose how it is heated again.")
    if typed.get("mark", "") not in MARKS:
        raise NotRead("mark", "Choose the file's decimal mark.")
    home = settings["time zone"]
    zone = typed.get("zone") or home
    try:
        _ = offset_of(zone) is None and ZoneInfo(zone)
    except (KeyError, ValueError, OSError):
        raise NotRead("zone", "There is no such time zone: write it as Europe/London, or as +01:00.") from None
    at, temp, clock, unit, mark = (typed.get(name, "") for name in ("at", "temp", "clock", "unit", "mark"))
    order, house = settings["date order"], settings["decimal mark"]
    return Columns(at, temp, clock, unit, zone, order, mark, home, house)


def _shown(form: Import, file: Brought) -> tuple[tuple[float, ...], str]:
    """The temperatures of a file [°F], and what its picture says in words."""
    temps = tuple(float(reading.temp_f) for reading in file.log.readings)
    minutes = file.log.times_s[-1] / 60
    return temps, f"{len(temps)} readings over {minutes:.0f} minutes, highest {form.scale.deg(max(temps), 1)}"


def _cooked(form: Import, file: Brought, asked: Question | None) -> Import:
    temps, alt = _shown(form, file)
    picture = log_chart(file.log.times_s, temps, asked, alt, form.scale)
    return _with(form, probe=judged_probe(file.log, asked), count=len(temps), chart=picture)


def _reheated(form: Import, file: Brought, edition: str) -> Import:
    temps, alt = _shown(form, file)
    picture = log_chart(file.log.times_s, temps, None, alt, form.scale)
    return _with(form, reheat=judged_reheat(file.log, form.how, edition), count=len(temps), chart=picture)


def _cooled(form: Import, file: Brought, settings: dict[str, str]) -> Import:
    temps, alt = _shown(form, file)
    picture = log_chart(file.log.times_s, temps, None, alt, form.scale)
    form = replace(form, count=len(temps), chart=picture, unruled=unruled(form.rule, settings["food code"]))
    try:
        started_at, ask = _start(form, file, settings)
    except NotRead as error:
        return _with(form, cooling=judged_cooling(file.log, form.rule), wrong={error.field: str(error)})
    if form.unruled:
        return _with(form, ask={"started": ask} if ask else {}, started_at=started_at)
    if ask or not started_at:
        return _with(form, cooling=judged_cooling(file.log, form.rule), ask={"started": ask} if ask else {})
    judged = judged_cooling(file.log, form.rule, seconds_before(started_at, file.first_at or ""))
    return _with(form, cooling=judged, started_at=started_at)


def _start(form: Import, file: Brought, settings: dict[str, str]) -> tuple[str, str]:
    """When what was not cooked was made or came in, UTC, '' where nobody said; and what is asked again, '' for nothing.

    Raises:
        NotRead: it can't be so.
    """
    text = form.field("started").strip()
    if not text:
        return "", ""
    if cooling_rule(form.rule).start_f is not None:
        raise NotRead("started", "The clock of cooked food starts as it passes 135 °F going down: leave this empty.")
    if file.first_at is None:
        raise NotRead("started", "The file tells no day: leave this empty, or let its time be day and time.")
    try:
        at = before_on(form.field("zone") or settings["time zone"], text, file.first_at, settings["date order"])
    except ReadError as error:
        raise NotRead("started", f"{error.what}: {error.do}.") from None
    before_s = -seconds_before(at, file.first_at)
    if before_s < 0:
        raise NotRead("started", "It was read before that: it was made or came in by its first reading.")
    if before_s > UNLIKELY_START_H * 3600 and form.field("started_sure") != text:
        return at, f"{text}? That is more than {UNLIKELY_START_H} hours before its first reading."
    return at, ""


def _with(form: Import, **values: Any) -> Import:
    return replace(form, **values)
