"""Days, clocks and lengths of time as people write them, read exactly."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from contextlib import suppress
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

from stillroom.db.number import ReadError, bad_number, leading_number
from stillroom.db.problems import quoted

SHEET_DAY_0 = date(1899, 12, 30)  # from which spreadsheets number days (1900 date system; from memory)
DATE_ORDERS = ("ISO", "day month year", "month day year")
SPAN_SECONDS = {
    "s": 1, "sec": 1, "second": 1, "min": 60, "minute": 60, "h": 3600, "hr": 3600, "hour": 3600,
    "d": 86400, "day": 86400, "week": 604800, "month": 2592000,
}  # fmt: skip
_HOURS = {"h", "hr", "hour"}
LONGEST = 36525 * 86400  # s, a hundred years: past that it is a slip of the hand


@lru_cache(maxsize=4096)
def read_span(text: str, mark: str = ".") -> int:
    """A length of time [s]: '3 days', '90 min', '2 h 30', '1½ h'. A month is 30 days.

    Raises:
        ReadError: span-bad, number-bad.
    """
    rest, total, last = text.strip().lower(), 0, ""
    if not re.match(r"[0-9.,¼½¾⅓⅔]", rest) or len(rest) > 60:
        raise _bad_span(text)
    while rest:
        number, _, rest = leading_number(rest, mark)
        found = re.match(r"\s*([a-z]*)\.?\s*,?\s*(?:and\s+)?", rest)
        word, rest = (found.group(1), rest[found.end() :]) if found else ("", rest)
        unit = _span_unit(word, last)
        if not unit or number < 0:
            raise _bad_span(text, word)
        total, last = total + round(number * SPAN_SECONDS[unit]), unit
        if total > LONGEST:
            raise _bad_span(text)
    return total


def _span_unit(word: str, last: str) -> str:
    """The unit a word means, '' if none: nothing and 'm' are minutes behind hours, and unknown alone."""
    if word in {"", "m"}:
        return "min" if last in _HOURS else ""
    return next((w for w in (word, word.removesuffix("s")) if w in SPAN_SECONDS), "")


def _bad_span(text: str, word: str = "") -> ReadError:
    why = 'An "m" alone is minutes or months.' if word == "m" else ""
    return ReadError(
        "span-bad", f"{quoted(text)} is not a length of time", why, 'write "3 days", "90 min" or "2 h 30"'
    )


@lru_cache(maxsize=65536)
def read_date(text: str, order: str = "ISO") -> str:
    """An ISO date; from the kitchen's own order of day, month and year where it says one.

    Raises:
        ReadError: date-bad, date-ambiguous.
    """
    plain = text.strip()
    if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", plain):
        year, month, day = (int(part) for part in plain.split("-"))
        return _calendar(text, year, month, day)
    found = re.fullmatch(r"([0-9]{1,2})([./\- ])([0-9]{1,2})\2([0-9]{4})", plain)
    if not found:
        if re.search("[oO]", plain) and re.fullmatch(r"[0-9oO./\- ]{6,10}", plain):
            raise bad_number(text, "date-bad")
        raise _no_date(text, plain)
    first, second, year = int(found.group(1)), int(found.group(3)), int(found.group(4))
    if order == "ISO":
        raise _order_unsaid(text, year, first, second)
    day, month = (first, second) if order == "day month year" else (second, first)
    return _calendar(text, year, month, day, order)


def _no_date(text: str, plain: str) -> ReadError:
    """The error for what is no date; what a spreadsheet made of one, its day number or a time behind it, is told."""
    why, meant = "", "2026-11-25"
    if re.fullmatch(r"[2-7][0-9]{4}", plain):
        why, meant = "It may be a spreadsheet's day number.", (SHEET_DAY_0 + timedelta(days=int(plain))).isoformat()
    elif re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}[T ][0-9]{2}:[0-9]{2}.{0,9}", plain):
        why, meant = "A time stands behind it.", plain[:10]
    return ReadError("date-bad", f"{quoted(text)} is not a date", why, f"write {meant}")


def _order_unsaid(text: str, year: int, first: int, second: int) -> ReadError:
    """The error for a date whose order the kitchen has not said: names both days, or the only one."""
    days = list(dict.fromkeys(_days(year, ((first, second), (second, first)))))
    told = 'or set "date order" in the kitchen\'s settings'
    if not days:
        return _no_such_day(text)
    spoken = [f"{day.isoformat()} for {day.day} {day:%B}" for day in days]
    if len(days) == 2:
        return ReadError(
            "date-ambiguous", f"{quoted(text)} can be read two ways", "Day and month may be either way round.",
            f"write {days[0]} or {days[1]}, {told}", f"write {' or '.join(spoken)}",
        )  # fmt: skip
    return ReadError(
        "date-bad", f"{quoted(text)} is not a date here", "Dates are year-month-day here.",
        f"write {days[0]}, {told}", f"write {spoken[0]}",
    )  # fmt: skip


def _days(year: int, month_day: Iterable[tuple[int, int]]) -> Iterator[date]:
    """Those of some days of a year that the calendar has."""
    for month, day in month_day:
        with suppress(ValueError):
            yield date(year, month, day)


def _no_such_day(text: str, why: str = "") -> ReadError:
    return ReadError(
        "date-bad", f"{quoted(text)} is not in the calendar", why, "write a day that exists: 2026-11-25"
    )


def _calendar(text: str, year: int, month: int, day: int, order: str = "") -> str:
    try:
        return date(year, month, day).isoformat()
    except ValueError:
        why = f"Dates are {order} here." if month > 12 and order else ""
        raise _no_such_day(text, why) from None


def read_clock(text: str) -> str:
    """A time of day, HH:MM.

    Raises:
        ReadError: clock-bad.
    """
    found = re.fullmatch(r"([0-9]{1,2})[:.]([0-9]{2})", text.strip())
    if not found or int(found.group(1)) > 23 or int(found.group(2)) > 59:
        raise ReadError("clock-bad", f"{quoted(text)} is not a time of day", "", "write 17:00")
    return f"{int(found.group(1)):02d}:{found.group(2)}"


def read_instant(text: str, zone: str = "UTC", order: str = "ISO") -> str:
    """A UTC instant from the kitchen's date and clock; one already in UTC ('...Z') is kept.

    The hour that comes twice in autumn is taken as the first of the two.

    Raises:
        ReadError: instant-bad, date-bad, date-ambiguous, clock-bad.
    """
    plain = text.strip()
    found = re.fullmatch(r"(.{8,10})[ T]([0-9]{1,2}[:.][0-9]{2})(?::([0-5][0-9])(\.[0-9]{1,6})?)?(Z?)", plain)
    if not found or (found.group(5) and "T" not in plain):
        raise ReadError("instant-bad", f"{quoted(text)} is not a day and time", "", "write 2026-11-25 17:40")
    day = read_date(found.group(1), order)
    naive = datetime.fromisoformat(f"{day}T{read_clock(found.group(2))}:{found.group(3) or '00'}")
    if found.group(5):
        return plain
    instant = naive.replace(tzinfo=ZoneInfo(zone)).astimezone(UTC)
    if instant.astimezone(ZoneInfo(zone)).replace(tzinfo=None) != naive:
        raise ReadError(
            "instant-bad",
            f"{quoted(text)} never was",
            "The clocks go forward over it.",
            "write the time the clock showed",
        )
    return instant.strftime("%Y-%m-%dT%H:%M:%SZ")


def comes_twice(text: str, zone: str, order: str = "ISO") -> bool:
    """Whether a day and time lies in the hour that comes twice in autumn, and so names two instants.

    Raises:
        ReadError: as `read_instant`.
    """
    if text.strip().endswith("Z"):
        return False
    first = datetime.fromisoformat(read_instant(text, zone, order).replace("Z", "+00:00"))
    local = first.astimezone(ZoneInfo(zone))
    return local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset()


def went_back(moment: datetime, zone: str) -> bool:
    """Whether the clocks of a zone went back within three hours of an instant."""
    before, after = ((moment + timedelta(hours=by)).astimezone(ZoneInfo(zone)).utcoffset() for by in (-3, 3))
    return before is not None and after is not None and after < before


def read_before(text: str, until: str, zone: str = "UTC", order: str = "ISO") -> str:
    """A UTC instant that is meant to lie before another: a day and time, or a clock time alone.

    A clock time alone is of the other's own day; where that day's comes after it, of the evening before, if that is no
    more than twelve hours off. What comes out can be later than `until`: whoever asks refuses it.

    Args:
        text: as typed.
        until: UTC instant.

    Raises:
        ReadError: as `read_instant`.
    """
    if not re.fullmatch(r"[0-9]{1,2}[:.][0-9]{2}", text.strip()):
        return read_instant(text, zone, order)
    ends = datetime.fromisoformat(until.replace("Z", "+00:00"))
    local = ends.astimezone(ZoneInfo(zone))
    same = read_instant(f"{local:%Y-%m-%d} {text.strip()}", zone)
    if same <= until:
        return same
    before = read_instant(f"{local - timedelta(days=1):%Y-%m-%d} {text.strip()}", zone)
    is_near = ends - datetime.fromisoformat(before.replace("Z", "+00:00")) <= timedelta(hours=12)
    return before if is_near else same
