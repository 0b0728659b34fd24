"""A logger's CSV read through a mapping: which column is the time, which the temperature, in which scale and zone."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import lru_cache

from stillroom.db.moments import read_clock, read_instant
from stillroom.db.number import ReadError, read_number, whole
from stillroom.plugins.physics.errors import HeatError
from stillroom.plugins.physics.readings import MOST_READINGS, ProbeLog, clean

LARGEST = 8_000_000
# What nearly every row is written as; anything else goes the longer way.
PLAIN_NUMBER = {mark: re.compile(rf"[-−]?[0-9]{{1,12}}(?:\{mark}[0-9]{{1,9}})?") for mark in ".,"}
PLAIN_MOMENT = re.compile(r"(\S+)[ T]([01]?\d|2[0-3]):([0-5]\d)(?::([0-5]\d(?:\.\d+)?))?")
CLOCKS = {
    "clock": "day and time, such as 2026-11-25 17:40", "time": "time of day, such as 17:40:30",
    "minutes": "minutes from the start", "seconds": "seconds from the start",
}  # fmt: skip


@dataclass(frozen=True)
class Mapping:
    """How a file is read. at, temp: names of columns, or their numbers from 1; clock: a key of CLOCKS; unit: C or F."""

    at: str
    temp: str
    clock: str = "clock"
    unit: str = "F"
    zone: str = "UTC"
    order: str = "ISO"
    mark: str = "."


@dataclass(frozen=True)
class Brought:
    """The log, and the first moment in UTC where the file says one."""

    log: ProbeLog
    first_at: str | None


class NotRead(HeatError):
    """A file that can't be read through the mapping; `field` is the form's field."""

    def __init__(self, field: str, words: str) -> None:
        super().__init__(words)
        self.field = field


def read_logger(text: str, mapping: Mapping) -> Brought:
    """Readings of a logger's file.

    Args:
        text: the file, with a head of column names; separated by comma, semicolon or tab.
        mapping: how to read it.

    Raises:
        NotRead: naming the field and the row.
        HeatError: readings that can't be right, naming the first.
    """
    if len(text) > LARGEST:
        raise NotRead("text", f"The file is larger than {LARGEST // 1_000_000} MB: split it.")
    lines = csv.reader(io.StringIO(text.lstrip("﻿")), delimiter=_separator(text))
    head = next(lines, None)
    if not head:
        raise NotRead("text", "The file is empty.")
    columns = _column(head, mapping.at, "at"), _column(head, mapping.temp, "temp")
    pairs = list(_pairs(lines, columns, mapping))
    if not pairs:
        raise NotRead("text", "The file has a head and no readings.")
    start = pairs[0][0]
    log = clean([(at - start, temp) for at, temp in pairs], mapping.unit)
    if mapping.clock != "clock":
        return Brought(log, None)
    return Brought(log, datetime.fromtimestamp(start, UTC).strftime("%Y-%m-%dT%H:%M:%SZ"))


def moment(first_at: str, seconds: float) -> str:
    """UTC moment so long after the first."""
    start = datetime.fromisoformat(first_at.replace("Z", "+00:00"))
    return (start + timedelta(seconds=seconds)).strftime("%Y-%m-%dT%H:%M:%SZ")


def _separator(text: str) -> str:
    head = text.split("\n", 1)[0]
    return max((";", "\t", ","), key=head.count)


def _column(head: list[str], wanted: str, field: str) -> int:
    names = [name.strip().lower() for name in head]
    if wanted.strip().lower() in names:
        return names.index(wanted.strip().lower())
    number = whole(wanted, len(head), 1)
    if number is not None:
        return number - 1
    shown = ", ".join(name.strip()[:30] for name in head[:12])
    raise NotRead(field, f"There is no such column. The file has: {shown}.")


def _pairs(lines: Iterator[list[str]], columns: tuple[int, int], mapping: Mapping) -> Iterator[tuple[float, str]]:
    """Moments [s] and temperatures as text; a row without a temperature is a gap and is left out."""
    at_column, temp_column = columns
    last, days = -1.0, 0
    for number, row in enumerate(lines, 2):
        if number > MOST_READINGS + 1:
            raise NotRead("text", f"More than {MOST_READINGS} rows: split the file.")
        if len(row) <= max(columns) or not row[temp_column].strip():
            continue
        try:
            at = _moment(row[at_column].strip(), mapping)
            temp = _number(row[temp_column], mapping.mark)
        except ReadError as error:
            raise NotRead("text", f"Row {number}: {error.what}. {error.do}".strip()) from error
        if mapping.clock == "time":
            days += 1 if last - at > 43200 else 0  # past midnight; a smaller step back is a fault and is named
            last, at = at, at + days * 86400
        yield at, temp


@lru_cache(maxsize=8192)
def _number(text: str, mark: str) -> str:
    plain = text.strip().rstrip("CFcf°º ").strip()
    if PLAIN_NUMBER[mark].fullmatch(plain):
        return plain.replace(mark, ".").replace("−", "-")
    value = float(read_number(plain.lstrip("-−"), mark))
    return f"-{value!r}" if plain[:1] in {"-", "−"} else repr(value)


def _moment(text: str, mapping: Mapping) -> float:
    if mapping.clock == "clock":
        return _on_the_clock(text, mapping.zone, mapping.order)
    if mapping.clock == "time":
        hours, minutes = read_clock(text[: text.find(":", 3)] if text.count(":") == 2 else text).split(":")
        seconds = float(text.rsplit(":", 1)[1]) if text.count(":") == 2 else 0.0
        return int(hours) * 3600 + int(minutes) * 60 + seconds
    quick = PLAIN_NUMBER[mapping.mark].fullmatch(text)
    number = float(text.replace(mapping.mark, ".")) if quick else float(read_number(text, mapping.mark))
    return number * (60.0 if mapping.clock == "minutes" else 1.0)


def _on_the_clock(text: str, zone: str, order: str) -> float:
    """A day and time as seconds of the epoch; on a day without a change of the clocks by adding to its midnight."""
    found = PLAIN_MOMENT.fullmatch(text)
    midnight = None if found is None else _midnight(found[1], zone, order)
    if found is None or midnight is None:
        return _epoch(read_instant(text, zone, order))
    return midnight + int(found[2]) * 3600 + int(found[3]) * 60 + float(found[4] or 0)


@lru_cache(maxsize=64)
def _midnight(day: str, zone: str, order: str) -> float | None:
    """Midnight of a day [s of the epoch]; None where the clocks change on it."""
    first, last = (_epoch(read_instant(f"{day} {clock}", zone, order)) for clock in ("00:00", "23:59"))
    return first if last - first == 86340 else None


def _epoch(said: str) -> float:
    return datetime.fromisoformat(said.replace("Z", "+00:00")).timestamp()
