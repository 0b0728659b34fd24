"""A logger's CSV read through a mapping: which column is the time, which the temperature, in which scale and zone."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from itertools import pairwise

from stillroom.db.log import instant
from stillroom.db.moments import comes_twice, read_before, read_clock, read_instant, went_back
from stillroom.db.number import ReadError, read_number, whole
from stillroom.plugins.physics.errors import HeatError
from stillroom.plugins.physics.readings import MOST_READINGS, ProbeLog, clean

LARGEST = 8_000_000
# What nearly every row is written as; anything else goes the longer way.
PLAIN_NUMBER = {mark: re.compile(rf"[-−]?[0-9]{{1,12}}(?:\{mark}[0-9]{{1,9}})?") for mark in ".,"}
PLAIN_MOMENT = re.compile(r"(\S+)[ T]([01]?\d|2[0-3]):([0-5]\d)(?::([0-5]\d(?:\.\d+)?))?")
# A day and time that says its own offset from UTC: 2026-10-25T01:30:00+01:00.
WITH_OFFSET = re.compile(r"(\S+[ T]\d{1,2}[:.]\d{2}(?::\d{2}(?:\.\d+)?)?)\s*([+-])(\d{2}):?(\d{2})")
OFFSET = re.compile(r"(?:UTC|GMT)?\s*([+\-−])\s*(\d{1,2})(?::?(\d{2}))?", re.IGNORECASE)
SAY_OFFSET = "Say the logger's offset as its time zone, +01:00 or UTC, or let it write its times in UTC."
MARKS = {"": "as it is written", ".": "a point: 63.5", ",": "a comma: 63,5"}
CLOCKS = {
    "clock": "day and time, such as 2026-11-25 17:40", "time": "time of day, such as 17:40:30",
    "minutes": "minutes from the start", "seconds": "seconds from the start",
}  # fmt: skip


@dataclass(frozen=True)
class Mapping:
    """How a file is read.

    Attributes:
        at, temp: names of columns, or their numbers from 1.
        clock: a key of CLOCKS.
        unit: C or F.
        zone: of the logger's clock, a name or an offset such as +01:00.
        mark: its decimal mark; "" as the file shows, where it shows one beyond doubt.
        home: the kitchen's own zone; house: the kitchen's own mark.
    """

    at: str
    temp: str
    clock: str = "clock"
    unit: str = "F"
    zone: str = "UTC"
    order: str = "ISO"
    mark: str = ""
    home: str = "UTC"
    house: str = "."


@dataclass(frozen=True)
class Brought:
    """The log, and the first moment in UTC where the file says one."""

    log: ProbeLog
    first_at: str | None


# A scale said in a column's name or behind a number: "Temp (°C)", "68F".
SCALE_SAID = re.compile(r"[°º]\s*([CF])\b|\d\s*([CF])\s*$", re.IGNORECASE)
SOME_DEGREES = re.compile(r"\s*[-−]?[0-9]+(?:[.,][0-9]+)?\s*[°º]?\s*[CFcf]?\s*")


class NotRead(HeatError):
    """A file that can't be read through the mapping; `field` is the form's field."""

    def __init__(self, field: str, words: str) -> None:
        super().__init__(words)
        self.field = field


class Twice(ReadError):
    """A local time of the hour that comes twice in autumn: which of the two is not guessed."""


def read_logger(text: str, mapping: Mapping) -> Brought:
    """Readings of a logger's file.

    Args:
        text: the file, with a head of column names or, where the mapping numbers its columns, without; they are parted
            by semicolon, tab or comma.
        mapping: how to read it.

    Raises:
        NotRead: naming the field and the row.
        HeatError: readings that can't be right, naming the first.
    """
    if len(text) > LARGEST:
        raise NotRead("text", f"The file is larger than {LARGEST // 1_000_000} MB: split it.")
    rows = list(csv.reader(io.StringIO(text.lstrip("﻿")), delimiter=_separator(text)))
    head = rows.pop(0) if rows else []
    if not head:
        raise NotRead("text", "The file is empty.")
    if len(rows) > MOST_READINGS:
        raise NotRead("text", f"More than {MOST_READINGS} rows: split the file.")
    columns = _column(head, mapping.at, "at"), _column(head, mapping.temp, "temp")
    is_bare = _is_reading(head, columns)
    if is_bare:
        rows.insert(0, head)
    if not is_bare:
        _same_scale(re.sub(r"\d", "", head[columns[1]]), mapping.unit)
    mapping = replace(mapping, mark=_mark(rows, columns, mapping))
    pairs = list(_pairs(rows, len(head), columns, mapping, 1 if is_bare else 2))
    if not pairs:
        raise NotRead("text", "The file has a head and no readings.")
    _no_hour_twice(pairs, mapping)
    start = pairs[0][0]
    log = clean([(at - start, temp) for at, temp in pairs], mapping.unit)
    if mapping.clock != "clock":
        return Brought(log, None)
    return Brought(log, instant(datetime.fromtimestamp(start, UTC)))


def moment(first_at: str, seconds: float) -> str:
    """UTC moment so long after the first."""
    start = datetime.fromisoformat(first_at.replace("Z", "+00:00"))
    return instant(start + timedelta(seconds=seconds))


def _separator(text: str) -> str:
    """What parts the columns: a semicolon or a tab before a comma, which may stand inside a name or a number."""
    head, _, rest = text.partition("\n")
    first = rest.partition("\n")[0]
    both = [mark for mark in (";", "\t") if mark in head and (not first or mark in first)]
    return both[0] if both else max((";", "\t", ","), key=head.count)


def _mark(rows: list[list[str]], columns: tuple[int, int], mapping: Mapping) -> str:
    """The decimal mark of a file: said, or seen in its numbers where it can be no thousands mark.

    Raises:
        NotRead: numbers that can be read two ways.
    """
    if mapping.mark:
        return mapping.mark
    wanted = columns if mapping.clock in {"minutes", "seconds"} else columns[1:]
    found: dict[str, list[str]] = {".": [], ",": []}
    for row in rows:
        for column in wanted:
            cell = row[column] if column < len(row) else ""
            for mark in ".,":
                if mark in cell:
                    found[mark].append(cell.strip())
    if found["."] and found[","]:
        both = f"“{found['.'][0][:20]}” and “{found[','][0][:20]}”"
        raise NotRead("mark", f"The file has a point and a comma in its numbers, {both}: choose its decimal mark.")
    seen = next((mark for mark in ".," if found[mark]), mapping.house)
    texts = found.get(seen, [])
    if texts and seen != mapping.house and all(re.search(rf"\{seen}\d{{3}}\D*$", text) for text in texts):
        plain = texts[0].replace(seen, "")
        either = f"“{texts[0][:20]}” is {texts[0].replace(seen, mapping.house)[:20]} or {plain[:20]}"
        raise NotRead("mark", f"{either}: choose the file's decimal mark.")
    return seen


def offset_of(zone: str) -> int | None:
    """Seconds that a clock is ahead of UTC by what is typed as its zone: '+01:00', 'UTC-5'; None for a name."""
    found = OFFSET.fullmatch(zone.strip())
    if found is None:
        return 0 if zone.strip().upper() in {"UTC", "GMT", "Z"} else None
    hours, minutes = int(found[2]), int(found[3] or 0)
    if hours > 14 or minutes > 59:
        return None
    return (hours * 3600 + minutes * 60) * (1 if found[1] == "+" else -1)


def before_on(zone: str, text: str, first_at: str, order: str) -> str:
    """A UTC instant before a file's first, as typed by the clock of its zone, which may be an offset.

    Raises:
        ReadError: as `read_before`.
    """
    ahead = offset_of(zone)
    if ahead is None:
        return read_before(text, first_at, zone, order)
    return moment(read_before(text, moment(first_at, ahead), "UTC", order), -ahead)


def _no_hour_twice(pairs: list[tuple[float, str]], mapping: Mapping) -> None:
    """Times that step back by an hour or less as the clocks did: told as that, not as a fault.

    Raises:
        NotRead: naming the reading.
    """
    if mapping.clock not in {"clock", "time"}:
        return
    for number, ((before, _), (after, _)) in enumerate(pairwise(pairs), 2):
        if not 0 < before - after <= 3600:
            continue
        back = f"Reading {number} goes back by {(before - after) / 60:.0f} min"
        if mapping.clock == "time":
            mend = "If the clocks changed that night, let the file say day and time."
            raise NotRead("clock", f"{back}. {mend} {SAY_OFFSET}")
        if went_back(datetime.fromtimestamp(after, UTC), mapping.home):
            raise NotRead("zone", f"{back}: the clocks went back that night. {SAY_OFFSET}")


def _column(head: list[str], wanted: str, field: str) -> int:
    names = [name.strip().lower() for name in head]
    if wanted.strip().lower() in names:
        return names.index(wanted.strip().lower())
    number = whole(wanted, len(head), 1)
    if number is not None:
        return number - 1
    shown = ", ".join(name.strip()[:30] for name in head[:12])
    raise NotRead(field, f"There is no such column. The file has: {shown}.")


def _is_reading(row: list[str], columns: tuple[int, int]) -> bool:
    """Whether the first row of a file is no head but a reading: left out, food would seem to begin hotter or colder."""
    at, temp = (row[column] for column in columns)
    return re.match(r"\s*[0-9]", at) is not None and SOME_DEGREES.fullmatch(temp) is not None


def _same_scale(text: str, unit: str, of: str = "The column") -> None:
    """Refuses a scale that is not the one which the file itself names.

    Raises:
        NotRead: the file says the other one.
    """
    found = SCALE_SAID.search(text)
    said = (found[1] or found[2]).upper() if found else unit
    if said != unit:
        raise NotRead("unit", f"{of} says °{said}, “{text.strip()[:30]}”: choose °{said}.")


def _pairs(
    lines: list[list[str]], wide: int, columns: tuple[int, int], mapping: Mapping, first: int
) -> Iterator[tuple[float, str]]:
    """Moments [s] and temperatures as text; a row without a temperature is a gap and is left out.

    first: the number of the first row as it is told.
    """
    at_column, temp_column = columns
    last, days = -1.0, 0
    for number, row in enumerate(lines, first):
        if len(row) > wide and any(cell.strip() for cell in row[wide:]):
            mend = "If its decimal mark is a comma, let the logger part its columns by semicolons."
            raise NotRead("text", f"Row {number} has more columns than the head. {mend}")
        if len(row) <= max(columns) or not row[temp_column].strip():
            continue
        try:
            at = _moment(row[at_column].strip(), mapping)
            temp = _number(row[temp_column], mapping.mark)
            if temp != row[temp_column]:
                _same_scale(row[temp_column], mapping.unit, f"Row {number}")
        except ReadError as error:
            where = "zone" if isinstance(error, Twice) else "text"
            raise NotRead(where, f"Row {number}: {error.what}. {error.do}".strip()) from error
        if mapping.clock == "time":
            days += 1 if last - at > 43200 else 0  # past midnight; a smaller step back is a fault and is named
            last, at = at, at + days * 86400
        yield at, temp


@lru_cache(maxsize=8192)
def _number(text: str, mark: str) -> str:
    plain = text.strip().rstrip("CFcf°º ").strip()
    if not any(letter.isdigit() for letter in plain):
        raise ReadError("number-bad", f"“{text.strip()[:20]}” is no temperature", "",
                        "Leave the cell empty where the probe gave nothing: that is a gap.")  # fmt: skip
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
    if text.endswith("Z"):
        return _epoch(read_instant(text, "UTC", order))
    own = WITH_OFFSET.fullmatch(text)
    if own:
        text, zone = own[1], f"{own[2]}{own[3]}:{own[4]}"
    ahead = offset_of(zone)
    if ahead is not None:
        return _plain_clock(text, "UTC", order) - ahead
    return _plain_clock(text, zone, order)


def _plain_clock(text: str, zone: str, order: str) -> float:
    found = PLAIN_MOMENT.fullmatch(text)
    midnight = None if found is None else _midnight(found[1], zone, order)
    if found is None or midnight is None:
        if comes_twice(text, zone, order):
            raise Twice("instant-bad", f"{text} comes twice: the clocks went back that night", "", SAY_OFFSET)
        return _epoch(read_instant(text, zone, order))
    return midnight + int(found[2]) * 3600 + int(found[3]) * 60 + float(found[4] or 0)


@lru_cache(maxsize=64)
def _midnight(day: str, zone: str, order: str) -> float | None:
    """Midnight of a day [s of the epoch]; None where the clocks change on it."""
    first, last = (_epoch(read_instant(f"{day} {clock}", zone, order)) for clock in ("00:00", "23:59"))
    return first if last - first == 86340 else None


def _epoch(said: str) -> float:
    return datetime.fromisoformat(said.replace("Z", "+00:00")).timestamp()
