"""What cooks write, read exactly: quantities, recipe lines, temperatures, lengths, shares, money.

Every function takes the text as typed and returns an exact value, or raises ReadError with the words a
person needs. Numbers, packs, days and spans have modules of their own, and are offered here too.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache

from stillroom.db import units
from stillroom.db.exact import exact_text
from stillroom.db.line_words import NUMBER_WORDS, plain_line
from stillroom.db.moments import DATE_ORDERS, SPAN_SECONDS, read_clock, read_date, read_instant, read_span
from stillroom.db.number import VULGAR, ReadError, bad_number, leading_number, read_number
from stillroom.db.packs import Pack, read_pack
from stillroom.db.problems import quoted

__all__ = [
    "DATE_ORDERS", "SPAN_SECONDS", "WHOLE_BATCH", "Pack", "ReadError", "Said", "SaidLine", "Temperature", "read_clock",
    "read_date", "read_instant", "read_length", "read_line", "read_money", "read_number", "read_pack", "read_percent",
    "read_quantity", "read_share", "read_span", "read_temperature",
]  # fmt: skip

WHOLE_BATCH = "batch"
MM = {
    "mm": Fraction(1), "cm": Fraction(10), "m": Fraction(1000),
    "in": Fraction(127, 5), "inch": Fraction(127, 5), "inches": Fraction(127, 5), '"': Fraction(127, 5),
}  # fmt: skip
ABSOLUTE_ZERO_C = Fraction("-273.15")
HOTTEST_C = Fraction(1500)  # a slip of the hand above it; a bed of charcoal is below
_RANGE = re.compile(rf"\s*(?:[-–—]|to\b|or\b)\s*[0-9{VULGAR}]")
_TIMES = re.compile(r"\s*[x×]\s*([0-9].*)")
_TWO = re.compile(rf"([^\W\d_][^0-9{VULGAR}+]*?)\s*\+?\s*([0-9{VULGAR}].*)")


@dataclass(frozen=True)
class Said:
    """A quantity as said: exact number, its text, and the unit's text ('' for a bare count)."""

    number: Fraction
    number_text: str
    unit_text: str


@dataclass(frozen=True)
class SaidLine:
    """A recipe line as said. Words behind a comma may belong to the name or be how it is cut."""

    number: Fraction
    number_text: str
    unit_text: str
    name: str

    def names(self) -> list[tuple[str, str]]:
        """Ways to part name and preparation, longest name first: ('butter, salted', 'soft') comes first.

        Behind them stand the same without a bracket, and without words at the front that say how it is cut or how
        large it is: 'large eggs' may be eggs, and 'finely chopped onion' onion. A word that makes it another thing
        (dried, cooked, ground, toasted) stays.
        """
        parts = self.name.split(",")
        cuts = range(len(parts), 0, -1)
        plain = [(",".join(parts[:n]).strip(), ",".join(parts[n:]).strip()) for n in cuts]
        return list(dict.fromkeys([*plain, *(other for pair in plain for other in _barer(*pair))]))


_ASIDE = re.compile(r"(.*?\S)\s*\(([^()]*)\)\s*(.*)")
_FRONT = re.compile(
    r"((?:(?:very|finely|roughly|coarsely|thinly|thickly|freshly|lightly)\s+)*(?:extra-large|large|medium|small|whole|fresh"
    r"|ripe|packed|chopped|sliced|diced|minced|grated|shredded|peeled|crushed|melted|softened|sifted|beaten|halved))\s+(\S.*)",
    re.I,
)


def _barer(name: str, prep: str) -> list[tuple[str, str]]:
    """A name without its bracket, and without what stands before it."""
    found, front = [], ""
    aside = _ASIDE.fullmatch(name)
    if aside and not aside[3].strip(" ,"):
        name, prep = aside[1], ", ".join(x for x in (aside[2].strip(), prep) if x)
        found.append((name, prep))
    while (bare := _FRONT.fullmatch(name)) is not None:
        front, name = f"{front} {bare[1]}".strip(), bare[2]
        found.append((name, ", ".join(x for x in (front, prep) if x)))
    return found


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
def read_quantity(text: str, mark: str = ".", system: str = "") -> Said:
    """Number and unit: '2½ qt', '450 g', '3 ea', '12', '2 #16 scoop'; where a system is said, '4 lb 6½ oz' is 70.5 oz.

    Args:
        text: as typed, or as `db.cook_units.say` writes it.
        mark: the kitchen's decimal mark.
        system: whose cups and pints two measures are added up by; '': two are refused.

    Raises:
        ReadError: number-bad, quantity-bad where there is more than one number.
    """
    number, written, rest = leading_number(text, mark)
    _refuse_second_number(text, number, rest, mark, "quantity-bad")
    unit = " ".join(rest.split())
    two = _TWO.fullmatch(unit)
    both = _added_up(number, two[1], two[2], mark, system) if two and system and number > 0 else None
    if both is not None:
        return both
    if re.search(r"(?<![0-9#])[0-9]", unit.removeprefix("no. ")):
        raise ReadError(
            "quantity-bad",
            f"{quoted(text)} has more than one number",
            "",
            f"write one number and one unit: 2{mark}5 kg",
        )
    return Said(number, written, unit)


def _added_up(number: Fraction, unit_text: str, more: str, mark: str, system: str) -> Said | None:
    """Some of a larger measure and less than one of it in a smaller, in the smaller; None for any other words."""
    try:
        rest, _, small_text = leading_number(more, mark)
        parts = _parts(unit_text, small_text, system)
    except ReadError:
        return None
    if parts is None or not 0 <= rest < parts:
        return None
    total = number * parts + rest
    return Said(total, exact_text(total).replace(".", mark), " ".join(small_text.split()))


def _parts(large: str, small: str, system: str) -> Fraction | None:
    """How many of a smaller measure are one of a larger; None where they are not of one kind."""
    one, other = units.find_unit(large, system), units.find_unit(small, system)
    alike = one.dimension == other.dimension != "count" and one.factor > other.factor
    return one.factor / other.factor if alike else None


def read_line(text: str, is_unit: Callable[[str], bool], mark: str = ".", system: str = "US") -> SaidLine:
    """A recipe line: '5 lb leeks, trimmed' is 5, 'lb', 'leeks, trimmed'; '2 lemons' is 2, '', 'lemons'.

    Other ways of writing it are put into that form first (`db.line_words`): 'half a lemon', '2 (14 oz) cans tomatoes'.

    Args:
        text: as the cook wrote it.
        is_unit: whether a word (or two: 'fl oz') is a unit or measure.
        mark: the kitchen's decimal mark.
        system: whose cups and pints, where two measures are added up.

    Raises:
        ReadError: number-bad, line-bad.
    """
    _refuse_range(text, mark)
    number, written, rest = leading_number(plain_line(text, is_unit, mark, system), mark)
    _refuse_second_number(text, number, rest, mark, "line-bad")
    words = rest.split()
    unit = next((" ".join(words[:n]) for n in (2, 1) if len(words) > n and is_unit(" ".join(words[:n]))), "")
    name = " ".join(words[len(unit.split()) :])
    if name.lower().startswith("of "):
        name = name[3:]
    if not name or units.is_unit(name):
        raise ReadError(
            "line-bad", f"{quoted(text)} names nothing", "", 'write quantity, unit and name: "2 qt cream"'
        )
    _refuse_two_meanings(text, unit, name)
    _refuse_two_quantities(text, name, is_unit, mark)
    return SaidLine(number, written, unit, name)


def _refuse_range(text: str, mark: str) -> None:
    """Refuses 'two or three eggs'."""
    if re.match(r"(?i)\s*[a-z]+\s+(?:or|to)\s+(?:[a-z]+|[0-9]+)\s", text) and text.split()[0].lower() in NUMBER_WORDS:
        _refuse_second_number(text, Fraction(0), " to 1", mark, "line-bad")


def _refuse_second_number(text: str, number: Fraction, rest: str, mark: str, code: str) -> None:
    """Refuses '2-3 lemons' and '2 x 250 g butter'."""
    if _RANGE.match(rest):
        raise ReadError(
            code,
            f"{quoted(text)} gives a range",
            "A recipe is reckoned with one quantity.",
            "write one quantity",
        )
    times = _TIMES.match(rest)
    if times:
        each, _, unit = leading_number(times.group(1), mark)
        total = exact_text(number * each).replace(".", mark)
        raise ReadError(code, f"{quoted(text)} multiplies", "", f"write the whole of it: {total}{unit}")


def _refuse_two_meanings(text: str, unit: str, name: str) -> None:
    first, _, more = name.partition(" ")
    meant = units.TWO_MEANINGS.get(first.rstrip("."))
    if meant and more and not unit:
        raise ReadError(
            "line-bad",
            f'{quoted(text)}: "{first}" can mean two things',
            "",
            f"write {meant} if that is meant",
        )


def _refuse_two_quantities(text: str, name: str, is_unit: Callable[[str], bool], mark: str) -> None:
    """Refuses '2 lb 3 oz beef'; '500 g 00 flour' and '3 7-inch tins' are names that begin with a number."""
    if not re.match(rf"[0-9{VULGAR}]", name):
        return
    try:
        words = leading_number(name, mark)[2].split()
    except ReadError:
        return
    if words and is_unit(words[0]):
        raise ReadError(
            "line-bad", f"{quoted(text)} has two quantities", "", "add them up in one unit: 35 oz"
        )


@lru_cache(maxsize=65536)
def read_temperature(text: str, mark: str = ".") -> Temperature:
    """'38 °F', '38F', '2 C', '-18 °C'; the scale is never guessed.

    Raises:
        ReadError: temperature-bad, number-bad.
    """
    found = re.fullmatch(
        r"\s*([-−]?)\s*([0-9oO.,½¼¾ /]{1,30}?)\s*(?:°|º|deg(?:rees)?)?\s*([FfCc])\.?\s*", text
    )
    if not found or not re.search(r"[0-9½¼¾]", found.group(2)):
        raise ReadError(
            "temperature-bad",
            f"{quoted(text)} is not a temperature",
            "The scale is never guessed.",
            'write "38 °F" or "3 °C"',
        )
    number = read_number(found.group(2), mark) * (-1 if found.group(1) else 1)
    scale = found.group(3).upper()
    celsius = number if scale == "C" else (number - 32) * 5 / 9
    if not ABSOLUTE_ZERO_C <= celsius <= HOTTEST_C:
        raise ReadError(
            "temperature-bad", f"{quoted(text)} is no temperature of a kitchen", "", 'write "38 °F" or "3 °C"'
        )
    return Temperature(number, scale)


def read_length(text: str, mark: str = ".") -> Fraction:
    """A length above zero [mm]: '38 mm', '1.5 in', '4 cm'.

    Raises:
        ReadError: length-bad, number-bad, quantity-bad.
    """
    said = read_quantity(text, mark)
    unit = said.unit_text.lower().rstrip(".")
    if unit not in MM or said.number <= 0:
        raise ReadError(
            "length-bad", f"{quoted(text)} is not a length", f"Known here: {', '.join(MM)}.", 'write "38 mm"'
        )
    return said.number * MM[unit]


def read_percent(text: str, mark: str = ".") -> Fraction:
    """A share, 0 to 1 [-], from '85 %' or '85'.

    Raises:
        ReadError: percent-bad where it is not between 0 and 100, number-bad.
    """
    share = read_number(text.strip().removesuffix("%").strip(), mark) / 100
    if not 0 <= share <= 1:
        raise ReadError(
            "percent-bad",
            f"{quoted(text)} is not between 0 and 100 %",
            "",
            "write a share of the whole: 85 %",
        )
    return share


def read_share(text: str, mark: str = ".") -> Fraction:
    """As `read_percent`, where no sign stands beside the cell: 0.85 is refused, for it may be 85 % as a fraction.

    Raises:
        ReadError: percent-bad, number-bad.
    """
    share = read_percent(text, mark)
    if 0 < share <= Fraction(1, 100) and "%" not in text:
        as_share, as_percent = (exact_text(share * n).replace(".", mark) for n in (10000, 100))
        raise ReadError(
            "percent-bad", f"{quoted(text)} can be read two ways", "As a part of one, or as per cent.",
            f"write {as_share} % or {as_percent} %",
        )  # fmt: skip
    return share


@lru_cache(maxsize=65536)
def read_money(text: str, mark: str = ".") -> Decimal:
    """An amount of money in the kitchen's currency, zero or more, at most four decimals.

    Raises:
        ReadError: money-bad.
    """
    plain = text.strip()
    if re.fullmatch(rf"[0-9]{{1,12}}(?:[{mark}][0-9]{{1,4}})?", plain):
        return Decimal(plain.replace(mark, "."))
    digits = re.sub(r"[^0-9.,]", "", plain)[:20]
    if any(unicodedata.category(c) == "Sc" for c in plain) or re.search(
        r"[0-9]\s*[A-Za-z]{3}$|^[A-Za-z]{3}\s*[0-9]", plain
    ):
        raise ReadError(
            "money-bad", f"{quoted(text)} has a currency in it", "The kitchen has one currency, named in its settings.",
            f"write {_one_mark(digits, mark) or f'12{mark}50'}",
        )  # fmt: skip
    other, name, marked = (",", "point", "comma") if mark == "." else (".", "comma", "point")
    if digits == plain and other in plain:
        raise ReadError(
            "money-bad", f"{quoted(text)} has a {marked} in it", f"The decimal mark here is a {name}.",
            f"write {_one_mark(plain, mark)}",
        )  # fmt: skip
    if not re.fullmatch(r"[-−]?[0-9]+[.,]?[0-9]*", plain):
        raise _no_money(text, plain, mark)
    example = f"12{mark}50"
    if re.fullmatch(rf"[0-9]{{1,12}}[{mark}][0-9]{{5,}}", plain):  # what a sheet reckoned: a price over a weight
        example = f"{Decimal(plain[:40].replace(mark, '.')):.4f}".replace(".", mark)
    raise ReadError(
        "money-bad",
        f"{quoted(text)} is not an amount of money",
        "Zero or more, four decimals at most.",
        f"write {example}",
    )


def _no_money(text: str, plain: str, mark: str) -> ReadError:
    """The error for what is no amount; names the letter O, or the marks of thousands, where one stands in it."""
    bad = bad_number(text, "money-bad")
    if "letter O" in bad.why:
        return bad
    grouped = re.sub(r"(?<=[0-9])[\s'’](?=[0-9]{3})", "", plain[:40])
    is_grouped = grouped != plain and re.fullmatch(r"[0-9]+(?:[.,][0-9]{1,4})?", grouped)
    fix = _one_mark(grouped, mark) if is_grouped else f"12{mark}50"
    return ReadError("money-bad", bad.what, "It is an amount alone: digits, and one decimal mark.", f"write {fix}")


def _one_mark(plain: str, mark: str) -> str:
    """The amount with the kitchen's mark alone: 1,250.00 and 1.250,00 are 1250.00, 12,5 is 12.5, 1,250 is 1250.

    The last mark parts whole from broken where one or two digits follow it, or it is the kitchen's and the only one.
    """
    plain = plain.rstrip(".,")
    plain = f"0{plain}" if plain[:1] in {".", ","} else plain
    last = max(plain.rfind("."), plain.rfind(","))
    behind = len(plain) - last - 1
    digits = re.sub(r"[.,]", "", plain)
    is_broken = last >= 0 and (behind <= 2 or (plain[last] == mark and plain.count(mark) == 1))
    return f"{digits[:-behind]}{mark}{digits[-behind:]}" if is_broken else digits
