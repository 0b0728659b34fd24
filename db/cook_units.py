"""Quantities as a cook measures them: exact in, what the hand reaches for out, and how far the two are apart.

14 tsp are 4 tbsp + 2 tsp; 1816 g are 4 lb in a US kitchen, 0.1 % under. The steps of every measure (which spoons and
cups there are) are common practice, no source; the sizes of the units are those of `db.units` (NIST Handbook 44).
A mass or volume is never shown more than 1 % off. A count is rounded as the kitchen says, and says how far.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from stillroom.db.exact import to_decimal
from stillroom.db.number import ReadError
from stillroom.db.units import BASE, find_unit

CLOSE = Fraction(1, 100)  # as far as a shown mass or volume may be off [-]
CLOSER = Fraction(1, 200)  # and a metric one, where a scale shows whole grams [-]
COUNTS = ("fractions", "halves", "nearest", "up")
GLYPHS = {
    Fraction(1, 8): "⅛", Fraction(1, 4): "¼", Fraction(1, 3): "⅓", Fraction(1, 2): "½", Fraction(2, 3): "⅔",
    Fraction(3, 4): "¾",
}  # fmt: skip
WHOLE = (Fraction(0),)
HALVES = (Fraction(0), Fraction(1, 2))
QUARTERS = (Fraction(0), Fraction(1, 4), Fraction(1, 2), Fraction(3, 4))
CUPS = (Fraction(0), Fraction(1, 4), Fraction(1, 3), Fraction(1, 2), Fraction(2, 3), Fraction(3, 4))
SPOONS = ("tsp", "tbsp")
THIN = "\u202f"  # between thousands; no line breaks there
METRIC = {"mass": ("g", "kg"), "volume": ("ml", "l")}


@dataclass(frozen=True)
class Style:
    """How a kitchen reads quantities: whose units, how counts are rounded, its decimal mark."""

    system: str = "US"
    counts: str = "fractions"
    mark: str = "."


PLAIN = Style()


@dataclass(frozen=True)
class Shown:
    """A quantity in words. value is what the words come to, exact what was asked, both in the same unit."""

    text: str
    value: Fraction
    exact: Fraction

    @property
    def off(self) -> Fraction:
        """How far the words are from the quantity [-]: above zero where they say more."""
        return self.value / self.exact - 1 if self.exact else Fraction(0)

    @property
    def note(self) -> str:
        """The rounding in words; '' where there is none."""
        if self.value == self.exact:
            return ""
        size = abs(self.off) * 100
        said = "under 0.1 %" if size <= Fraction(1, 20) else f"{_decimal(size, 1 if size < 10 else 0)} %"
        return f"rounded, {said} {'over' if self.off > 0 else 'under'}"


@dataclass(frozen=True)
class Measure:
    """A unit with the parts of it that can be measured, and from how few to how many of it a cook counts.

    said is the same span where the cook's own line speaks in this unit; is_said_only: used for no other line.
    """

    name: str
    parts: tuple[Fraction, ...]
    span: tuple[Fraction, Fraction]
    said: tuple[Fraction, Fraction]
    is_said_only: bool = False

    def holds(self, count: Fraction, said: str) -> bool:
        """Whether a cook whose line speaks in `said` counts so many of this."""
        least, most = self.said if self.name == said else self.span
        return least <= count < most or (self.name == said and count == most)


def _measure(name: str, parts: Sequence[Fraction], *spans: float) -> Measure:
    """Least, most, and the two again for the cook's own unit; two numbers alone: only for the cook's own unit."""
    numbers = [Fraction(n) for n in spans]
    return Measure(name, tuple(parts), (numbers[0], numbers[1]), (numbers[-2], numbers[-1]), len(spans) == 2)


ENDLESS = 10**12
_TSP = (Fraction(0), Fraction(1, 8), *QUARTERS[1:])
_WEIGHTS = (_measure("lb", QUARTERS, 1, ENDLESS, 0.25, ENDLESS), _measure("oz", QUARTERS, 0.25, 16, 0.25, 32))
# Largest first. Spoons end where a jug or cup is nearer at hand.
MEASURES: dict[tuple[str, str], tuple[Measure, ...]] = {
    ("US", "mass"): _WEIGHTS,
    ("imperial", "mass"): _WEIGHTS,
    ("metric", "mass"): (),
    ("US", "volume"): (
        _measure("gal", HALVES, 4, ENDLESS, 0.5, ENDLESS), _measure("qt", QUARTERS, 1, 16, 0.5, 40),
        _measure("pt", HALVES, 0.5, 16), _measure("cup", CUPS, 0.25, 4, 0.25, 8), _measure("fl oz", HALVES, 1, 64),
        _measure("tbsp", HALVES, 1, 16, 1, 16), _measure("tsp", _TSP, 0.125, 3, 0.125, 3),
    ),
    ("imperial", "volume"): (
        _measure("gal", HALVES, 2, ENDLESS, 0.5, ENDLESS), _measure("qt", HALVES, 0.5, 16),
        _measure("pt", QUARTERS, 1, 16, 0.25, 32), _measure("fl oz", HALVES, 1, 20, 1, 40),
        _measure("tbsp", HALVES, 1, 8), _measure("tsp", _TSP, 0.125, 3),
    ),
    ("metric", "volume"): (
        _measure("cup", CUPS, 0.25, 4), _measure("tbsp", HALVES, 1, 5), _measure("tsp", _TSP, 0.125, 3),
    ),
}  # fmt: skip


@lru_cache(maxsize=65536)
def say(number: Fraction, unit_text: str, style: Style = PLAIN) -> Shown:
    """A quantity as a cook of this kitchen measures it.

    Args:
        number: how many.
        unit_text: 'g', 'ml' or 'each' for a quantity of the file, else the unit of the cook's own line: spoons stay
            spoons, and a word that is no unit ('bunch', 'batch', '#10 can') is counted.
        style: the kitchen's.

    Returns:
        The words; value and exact are in unit_text. Mass and volume within 1 %; counts as `style.counts` says.

    Example:
        >>> say(Fraction(14), "tsp").text, say(Fraction(1816), "g").text, say(Fraction(1816), "g").note
        ('4 tbsp + 2 tsp', '4 lb', 'rounded, 0.1 % under')
    """
    if number < 0:
        below = say(-number, unit_text, style)
        return Shown(f"−{below.text}", -below.value, number)
    try:
        unit = find_unit(unit_text, style.system)
    except ReadError:
        return _counted(number, " ".join(unit_text.split()), style)
    if unit.dimension == "count":
        shown = _counted(number * unit.factor, "", style)
        return Shown(shown.text, shown.value / unit.factor, number)
    if unit.name.endswith("scoop"):
        return _counted(number, unit.name, style)
    text, value = _measured(number * unit.factor, unit.dimension, unit.name, style)
    return Shown(text, value / unit.factor, number)


def style_of(settings: Mapping[str, str]) -> Style:
    """The style that a kitchen's settings ask for (`db.kitchen.settings`)."""
    return Style(settings["units"], settings["counts"], settings["decimal mark"])


def _measured(base: Fraction, dimension: str, said: str, style: Style) -> tuple[str, Fraction]:
    """Words and exact worth [g or ml] of a mass or volume: the exact before the close, the simple before the long."""
    if not base:
        return f"0 {METRIC[dimension][0]}", base
    within = CLOSE * base
    ways = [*_single(base, dimension, said, style), *_double(base, dimension, said, style)]
    for text, value in (*(w for w in ways if w[1] == base), *(w for w in ways if abs(w[1] - base) <= within)):
        return text, value
    return _metric(base, METRIC[dimension], style)


def _usable(dimension: str, said: str, style: Style) -> Iterator[tuple[Measure, Fraction]]:
    """The measures that may be used with their sizes [g or ml]: the cook's own first, then the largest."""
    known = MEASURES[style.system, dimension]
    found = [m for m in known if not m.is_said_only or m.name == said or _both_spoons(m, said)]
    for measure in sorted(found, key=lambda m: m.name != said):
        yield measure, find_unit(measure.name, style.system).factor


def _both_spoons(measure: Measure, said: str) -> bool:
    return measure.name in SPOONS and said in SPOONS


def _single(base: Fraction, dimension: str, said: str, style: Style) -> Iterator[tuple[str, Fraction]]:
    """One number of one unit: 4 lb, ⅓ cup, 2½ qt."""
    for measure, size in _usable(dimension, said, style):
        for count in _near(base / size, measure.parts):
            if measure.holds(count, said):
                yield f"{mixed(count)} {_named(measure.name, count)}", count * size


def _double(base: Fraction, dimension: str, said: str, style: Style) -> Iterator[tuple[str, Fraction]]:
    """Some of a larger unit and some of a smaller: 4 tbsp + 2 tsp, 2 lb 6 oz, 1½ cups + 1 tbsp."""
    measures = sorted(_usable(dimension, said, style), key=lambda m: -m[1])
    for n, (large, size) in enumerate(measures):
        first = _below(base / size, large.parts if large.name == "cup" else WHOLE)
        if first < 1 or not large.holds(first, said):
            continue
        rest = base - first * size
        for small, small_size in measures[n + 1 :]:
            for count in _near(rest / small_size, small.parts):
                if small.span[0] <= count and count * small_size < size:
                    plus = " " if dimension == "mass" else " + "
                    text = f"{mixed(first)} {_named(large.name, first)}{plus}{mixed(count)} {_named(small.name, count)}"
                    yield text, first * size + count * small_size


def _named(name: str, count: Fraction) -> str:
    return "cups" if name == "cup" and count > 1 else name


def _near(number: Fraction, parts: Iterable[Fraction]) -> list[Fraction]:
    """The measurable numbers beside a number, the nearest first."""
    whole = Fraction(number.numerator // number.denominator)
    grid = [whole + part for part in parts] + [whole + 1]
    return sorted(grid, key=lambda g: abs(g - number))[:2]


def _below(number: Fraction, parts: Iterable[Fraction]) -> Fraction:
    """The largest measurable number that is not above a number."""
    whole = Fraction(number.numerator // number.denominator)
    return max(whole + part for part in parts if whole + part <= number)


def mixed(number: Fraction) -> str:
    """A whole number with a cook's fraction behind it: 2½; thousands parted by a thin space."""
    whole = number.numerator // number.denominator
    glyph = GLYPHS.get(number - whole, "")
    return f"{whole:,}".replace(",", THIN) + glyph if whole or not glyph else glyph


def _metric(base: Fraction, units: tuple[str, str], style: Style) -> tuple[str, Fraction]:
    """Grams and kilos, or millilitres and litres: three figures, and whole ones as soon as they are close enough."""
    small, large = units
    steps = _steps(base)
    values = [_to_step(base, step) for step in steps]
    value = next((v for v in values if abs(v - base) <= CLOSER * base), values[-1])
    number, unit = (value / 1000, large) if value >= 1000 else (value, small)
    return f"{_decimal(number, 9).replace('.', style.mark)} {unit}", value


def _steps(base: Fraction) -> list[Fraction]:
    """Steps of a scale or jug, the coarsest first; the exact quantity where three figures hold it."""
    size = Fraction(10) ** (math.floor(math.log10(base)) - 2)
    if _to_step(base, size) == base:
        return [size]
    coarse = [Fraction(10)] if base >= 1000 else [Fraction(1), Fraction(1, 2)]
    return [*(s for s in coarse if s >= size), size]


def _to_step(number: Fraction, step: Fraction) -> Fraction:
    return round(number / step) * step


def _decimal(number: Fraction, places: int) -> str:
    """A decimal without zeros at its end, thousands parted by a thin space."""
    text = f"{to_decimal(number, places):,f}".replace(",", THIN)
    return text.rstrip("0").rstrip(".") if "." in text else text


def _counted(number: Fraction, word: str, style: Style) -> Shown:
    """Pieces, bunches, cans, rounded as the kitchen says; what would come to none is a little, with its number."""
    value = _rounded(number, style.counts)
    if not value and number:
        few = plenty(number, style.mark)
        return Shown(f"a little ({few}{' ' if word else ''}{word})", number, number)
    named = f" {_plural(word, value)}" if word else ""
    return Shown(f"{mixed(value)}{named}", value, number)


def _rounded(number: Fraction, how: str) -> Fraction:
    if not number:
        return number
    if how == "up":
        return Fraction(-(-number.numerator // number.denominator))
    return _near(number, {"halves": HALVES, "nearest": WHOLE}.get(how, CUPS))[0]


def _plural(word: str, count: Fraction) -> str:
    """A cook's word for several: bunches, leaves, #10 cans; a word that is short for another stays."""
    if count <= 1 or word.endswith("s") or word in BASE:
        return word
    if word.endswith(("ch", "sh", "x")):
        return f"{word}es"
    return f"{word[:-1]}ves" if word.endswith("leaf") or word.endswith("loaf") else f"{word}s"


def plenty(number: Fraction, mark: str = ".") -> str:
    """How many batches or plates, in three figures: ½, 2½, 2.4, 13; nothing is measured by it."""
    if number.denominator in (1, 2, 3, 4, 8) and number - math.floor(number) in (0, *GLYPHS) and number < 1000:
        return mixed(number)
    if number <= 0:
        return "0"
    step = Fraction(10) ** (math.floor(math.log10(number)) - 2)
    return _decimal(_to_step(number, step), 9).replace(".", mark)
