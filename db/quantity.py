"""What cooks write, read exactly: numbers, quantities, recipe lines, packs, spans, temperatures, dates, money.

Every function takes the text as typed and returns an exact value, or raises ReadError with the words a person needs.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from functools import lru_cache
from zoneinfo import ZoneInfo

from stillroom.db.problems import quoted

WHOLE_BATCH = "batch"
DATE_ORDERS = ("ISO", "day month year", "month day year")
SPAN_SECONDS = {
    "s": 1, "sec": 1, "second": 1, "m": 60, "min": 60, "minute": 60, "h": 3600, "hr": 3600, "hour": 3600,
    "d": 86400, "day": 86400, "week": 604800, "month": 2592000,
}  # fmt: skip
MM = {"mm": Fraction(1), "cm": Fraction(10), "m": Fraction(1000), "in": Fraction(127, 5), '"': Fraction(127, 5)}
_VULGAR = "¼½¾⅐⅑⅒⅓⅔⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞"
_NUMBER = re.compile(
    rf"\s*(?P<sign>-?)(?:(?P<whole>\d+)[\s-]+(?P<num>\d+)\s*[/⁄]\s*(?P<den>\d+)"
    rf"|(?P<num2>\d+)\s*[/⁄]\s*(?P<den2>\d+)"
    rf"|(?P<vwhole>\d*)\s*(?P<vulgar>[{_VULGAR}])"
    rf"|(?P<decimal>\d+(?:[.,]\d+)?|[.,]\d+))"
)


class ReadError(ValueError):
    """A text that can't be read. code, what, why and fix go into a Problem as they are."""

    def __init__(self, code: str, what: str, why: str = "", fix: str = "") -> None:
        super().__init__(what)
        self.code, self.what, self.why, self.fix = code, what, why, fix


@dataclass(frozen=True)
class Said:
    """A quantity as said: exact number, its text, and the unit's text ('' for a bare count)."""

    number: Fraction
    number_text: str
    unit_text: str


@dataclass(frozen=True)
class SaidLine:
    """A recipe line as said: quantity, unit and what; words behind a comma may belong to the name or be how it is cut."""

    number: Fraction
    number_text: str
    unit_text: str
    name: str

    def names(self) -> list[tuple[str, str]]:
        """Ways to part name and preparation, longest name first: ('butter, salted', 'soft'), ('butter', 'salted, soft')."""
        parts = self.name.split(",")
        cuts = range(len(parts), 0, -1)
        return [(",".join(parts[:n]).strip(), ",".join(parts[n:]).strip()) for n in cuts]


@dataclass(frozen=True)
class Pack:
    """count pieces of size unit_text each; size is 1 and unit_text the container where none is said."""

    count: Fraction
    size: Fraction
    unit_text: str
    is_catch_weight: bool = False


@dataclass(frozen=True)
class Temperature:
    """A temperature in the scale it was written in, never converted and back."""

    number: Fraction
    scale: str

    @property
    def f(self) -> float:
        """[°F]"""
        return float(self.number if self.scale == "F" else self.number * 9 / 5 + 32)

    @property
    def c(self) -> float:
        """[°C]"""
        return float(self.number if self.scale == "C" else (self.number - 32) * 5 / 9)


@lru_cache(maxsize=65536)
def read_number(text: str, mark: str = ".") -> Fraction:
    """A whole text as one exact number [-]: 3, 2.5, 1 1/2, 2½, .5; `mark` is the kitchen's decimal mark.

    Raises:
        ReadError: number-bad.
    """
    number, rest = _leading_number(text, mark)
    if rest.strip():
        raise _bad_number(text)
    return number


@lru_cache(maxsize=65536)
def read_quantity(text: str, mark: str = ".") -> Said:
    """Number and unit: '2½ qt', '450 g', '3 ea', '12'.

    Raises:
        ReadError: number-bad.
    """
    number, rest = _leading_number(text, mark)
    return Said(number, text[: len(text) - len(rest)].strip(), " ".join(rest.split()))


def read_line(text: str, is_unit: Callable[[str], bool], mark: str = ".") -> SaidLine:
    """A recipe line: '5 lb leeks, trimmed' is 5, 'lb', 'leeks, trimmed'; '2 lemons' is 2, '', 'lemons'.

    Args:
        text: as the cook wrote it.
        is_unit: whether a word (or two: 'fl oz') is a unit or measure.

    Raises:
        ReadError: number-bad, line-bad.
    """
    number, rest = _leading_number(text, mark)
    number_text = text[: len(text) - len(rest)].strip()
    words = rest.split()
    unit = next((" ".join(words[:n]) for n in (2, 1) if len(words) > n and is_unit(" ".join(words[:n]))), "")
    name = " ".join(words[len(unit.split()) :])
    if name.lower().startswith("of "):
        name = name[3:]
    if not name:
        raise ReadError("line-bad", f"{quoted(text)} names nothing", "", 'write quantity, unit and name: "2 qt cream"')
    return SaidLine(number, number_text, unit, name)


@lru_cache(maxsize=65536)
def read_pack(text: str, mark: str = ".") -> Pack:
    """A supplier's pack: 6/#10, 4/1 gal, 24/12 ct, 2/5#, 4/5 lb, 20/250 g, 10 kg, catch weight.

    '#' before a number is a can's number, behind a number it is a pound.

    Raises:
        ReadError: pack-bad.
    """
    plain = " ".join(text.lower().replace("×", "x").split())
    if plain in {"catch weight", "catch wt", "cw", "random weight"}:
        return Pack(Fraction(1), Fraction(1), "", True)
    count, slash, each = plain.partition("/") if "/" in plain else plain.partition(" x ")
    if not slash:
        count, each = "1", plain
    can = re.fullmatch(r"#\s*(\d+)( can| cans)?", each.strip())
    if can:
        return Pack(_pack_number(count, text, mark), Fraction(1), f"#{can.group(1)} can")
    size, rest = _leading_number(each, mark) if re.match(rf"\s*[\d.,{_VULGAR}]", each) else (Fraction(1), each)
    unit = "lb" if rest.strip() == "#" else rest.strip()
    if size <= 0 or not unit:
        raise ReadError("pack-bad", f"{quoted(text)} is not a pack", "", "write 6/#10, 4/1 gal, 24/12 ct, 10 kg, or catch weight")
    return Pack(_pack_number(count, text, mark), size, unit)


def read_span(text: str) -> int:
    """A length of time [s]: '3 days', '90 min', '2 h 30', '1 h 15 min'.

    Raises:
        ReadError: span-bad.
    """
    parts = re.findall(r"(\d+(?:\.\d+)?)\s*([a-z]*)", text.lower())
    left = re.sub(r"\d+(?:\.\d+)?\s*[a-z]*", "", text.lower()).strip(" ,")
    total, last = Fraction(0), ""
    for number, word in parts:
        unit = word or {"h": "min", "hr": "min", "hour": "min"}.get(last, "")
        unit = unit if unit in SPAN_SECONDS else unit.removesuffix("s")
        if unit not in SPAN_SECONDS:
            left = left or word or number
            break
        total, last = total + Fraction(number) * SPAN_SECONDS[unit], unit
    if not parts or left:
        raise ReadError("span-bad", f"{quoted(text)} is not a length of time", "", 'write "3 days", "90 min" or "2 h 30"')
    return round(total)


@lru_cache(maxsize=65536)
def read_temperature(text: str, mark: str = ".") -> Temperature:
    """'38 °F', '38F', '2 C', '-18 °C'; the scale is never guessed.

    Raises:
        ReadError: temperature-bad.
    """
    found = re.fullmatch(r"\s*([-−]?)\s*(\d+(?:[.,]\d+)?)\s*(?:°|º|deg(?:rees)?)?\s*([FfCc])\.?\s*", text)
    if not found:
        raise ReadError(
            "temperature-bad", f"{quoted(text)} is not a temperature", "The scale is never guessed.", 'write "38 °F" or "3 °C"'
        )
    number = read_number(found.group(2), mark)
    return Temperature(-number if found.group(1) else number, found.group(3).upper())


def read_length(text: str, mark: str = ".") -> Fraction:
    """A length [mm]: '38 mm', '1.5 in', '4 cm'.

    Raises:
        ReadError: length-bad.
    """
    said = read_quantity(text, mark)
    if said.unit_text not in MM or said.number <= 0:
        raise ReadError("length-bad", f"{quoted(text)} is not a length", f"Known here: {', '.join(MM)}.", 'write "38 mm"')
    return said.number * MM[said.unit_text]


def read_percent(text: str, mark: str = ".") -> Fraction:
    """A share, 0 to 1 [-], from '85 %' or '85'.

    Raises:
        ReadError: percent-bad where it is not between 0 and 100.
    """
    share = read_number(text.strip().removesuffix("%").strip(), mark) / 100
    if not 0 <= share <= 1:
        raise ReadError("percent-bad", f"{quoted(text)} is not between 0 and 100 %", "", "write a share of the whole: 85 %")
    return share


def read_money(text: str, mark: str = ".") -> Decimal:
    """An amount of money in the kitchen's currency, zero or more, at most four decimals.

    Raises:
        ReadError: money-bad.
    """
    plain = text.strip()
    if any(unicodedata.category(c) == "Sc" for c in plain) or re.search(r"[A-Za-z]{2,}", plain):
        raise ReadError(
            "money-bad", f"{quoted(text)} has a currency in it", "The kitchen has one currency, named in its settings.",
            f"write {re.sub(r'[^0-9.,]', '', plain) or '12.50'}",
        )  # fmt: skip
    if mark == "." and re.fullmatch(r"\d{1,3}(,\d{3})*(\.\d+)?|\d+,\d{1,2}", plain) and "," in plain:
        raise ReadError(
            "money-bad", f"{quoted(text)} has a comma in it", "The decimal mark here is a point.", f"write {_pointed(plain)}"
        )
    try:
        amount = Decimal(plain.replace(mark, "."))
    except InvalidOperation:
        raise _bad_number(text, "money-bad") from None
    exponent = amount.as_tuple().exponent
    if not amount.is_finite() or amount < 0 or not isinstance(exponent, int) or exponent < -4:
        raise ReadError("money-bad", f"{quoted(text)} is not an amount of money", "Zero or more, four decimals at most.", "write 12.50")
    return amount


@lru_cache(maxsize=65536)
def read_date(text: str, order: str = "ISO") -> str:
    """An ISO date from the kitchen's own order of day, month and year.

    Raises:
        ReadError: date-bad, date-ambiguous.
    """
    plain = text.strip()
    if re.fullmatch(r"\d{4}-\d{2}-\d{2}", plain):
        year, month, day = (int(part) for part in plain.split("-"))
        return _calendar(text, year, month, day)
    found = re.fullmatch(r"(\d{1,2})[./\- ](\d{1,2})[./\- ](\d{4})", plain)
    if not found:
        raise ReadError("date-bad", f"{quoted(text)} is not a date", "", "write 2026-11-25")
    first, second, year = (int(part) for part in found.groups())
    if order == "ISO":
        raise ReadError(
            "date-ambiguous", f"{quoted(text)} can be read two ways", "Day and month may be either way round.",
            'write 2026-11-25, or set "date order" in the kitchen\'s settings',
        )  # fmt: skip
    day, month = (first, second) if order == "day month year" else (second, first)
    return _calendar(text, year, month, day)


def read_clock(text: str) -> str:
    """A time of day, HH:MM.

    Raises:
        ReadError: clock-bad.
    """
    found = re.fullmatch(r"(\d{1,2})[:.](\d{2})", text.strip())
    if not found or int(found.group(1)) > 23 or int(found.group(2)) > 59:
        raise ReadError("clock-bad", f"{quoted(text)} is not a time of day", "", "write 17:00")
    return f"{int(found.group(1)):02d}:{found.group(2)}"


def read_instant(text: str, zone: str = "UTC", order: str = "ISO") -> str:
    """A UTC instant from the kitchen's date and clock; one already in UTC ('...Z') is kept.

    Raises:
        ReadError: instant-bad, date-bad, clock-bad.
    """
    plain = text.strip()
    if re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?Z", plain):
        return plain
    day, _, clock = plain.replace("T", " ").rpartition(" ")
    if not day:
        raise ReadError("instant-bad", f"{quoted(text)} is not a day and time", "", "write 2026-11-25 17:40")
    local = datetime.fromisoformat(f"{read_date(day, order)}T{read_clock(clock[:5])}").replace(tzinfo=ZoneInfo(zone))
    return local.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def _leading_number(text: str, mark: str) -> tuple[Fraction, str]:
    """The number a text begins with, and what follows it."""
    found = _NUMBER.match(text)
    if not found:
        raise _bad_number(text)
    number, rest = _value(found, text, mark), text[found.end() :]
    if re.match(r"[.,\d]|[oO](\b|\d)", rest):
        raise _bad_number(text)
    return (-number if found.group("sign") else number), rest


def _value(found: re.Match[str], text: str, mark: str) -> Fraction:
    part = found.groupdict()
    if part["decimal"]:
        other = "," if mark == "." else "."
        if other in part["decimal"]:
            name = "point" if mark == "." else "comma"
            raise ReadError(
                "number-bad", f'{quoted(text)} has a "{other}" in its number', f"The decimal mark here is a {name}.",
                f"write {part['decimal'].replace(other, mark)}, without thousands marks",
            )  # fmt: skip
        return Fraction(part["decimal"].replace(mark, "."))
    if part["vulgar"]:
        tail = Fraction(unicodedata.normalize("NFKC", part["vulgar"]).replace("⁄", "/"))
        return int(part["vwhole"] or 0) + tail
    below = int(part["den"] or part["den2"])
    if below == 0:
        raise _bad_number(text)
    return int(part["whole"] or 0) + Fraction(int(part["num"] or part["num2"]), below)


def _bad_number(text: str, code: str = "number-bad") -> ReadError:
    if re.search(r"\d[.,]?\d*[oO]|[oO][.,]?\d", text):
        mended = re.sub(r"(?<=[\d.,])[oO]|[oO](?=[\d.,])", "0", text.strip())
        return ReadError(code, f"{quoted(text)} is not a number", "There is a letter O where a zero should be.", f"write {mended}")
    return ReadError(code, f"{quoted(text)} is not a number", "", "write 3, 2.5, 1 1/2 or 2½")


def _pack_number(text: str, whole: str, mark: str) -> Fraction:
    try:
        number = read_number(text, mark)
    except ReadError:
        number = Fraction(0)
    if number <= 0:
        raise ReadError("pack-bad", f"{quoted(whole)} is not a pack", "", "write 6/#10, 4/1 gal, 24/12 ct, 10 kg, or catch weight")
    return number


def _pointed(plain: str) -> str:
    return plain.replace(",", ".") if re.fullmatch(r"\d+,\d{1,2}", plain) else plain.replace(",", "")


def _calendar(text: str, year: int, month: int, day: int) -> str:
    try:
        return date(year, month, day).isoformat()
    except ValueError:
        raise ReadError("date-bad", f"{quoted(text)} is not in the calendar", "", "write a day that exists: 2026-11-25") from None
