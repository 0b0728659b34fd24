"""The one place of units. Exact factors, looked up once per unit; mass, volume and count are three things.

Between mass, volume and count there is no factor, only an item's own measures (`item_measures`): without one the
conversion is refused, never guessed. `oz` is mass, `fl oz` is volume.

Source: NIST Handbook 44 Appendix C for the US measures (1 gal = 231 in3 exactly, 1 lb = 453.59237 g exactly); imperial
gallon 4.54609 L exactly; a number 16 scoop is 32/16 US fl oz, nominal (school-nutrition card).
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Literal

from stillroom.db.quantity import ReadError, read_number

Dimension = Literal["mass", "volume", "count"]
BASE: dict[str, Dimension] = {"g": "mass", "ml": "volume", "each": "count"}

POUND = Fraction(45359237, 100000)
US_GALLON = Fraction(3785411784, 1000000)
IMPERIAL_GALLON = Fraction(454609, 100)


@dataclass(frozen=True)
class Unit:
    """A unit: its name here, what it measures, and how many g, ml or each it is."""

    name: str
    dimension: Dimension
    factor: Fraction


def _volumes(gallon: Fraction, ounces_in_gallon: int) -> dict[str, Fraction]:
    return {
        "gal": gallon, "qt": gallon / 4, "pt": gallon / 8, "fl oz": gallon / ounces_in_gallon,
    }  # fmt: skip


_MASS = {
    "mg": Fraction(1, 1000), "g": Fraction(1), "dag": Fraction(10), "kg": Fraction(1000), "oz": POUND / 16, "lb": POUND,
}  # fmt: skip
_METRIC = {"ml": Fraction(1), "cl": Fraction(10), "dl": Fraction(100), "l": Fraction(1000)}
_COUNT = {"each": Fraction(1), "doz": Fraction(12), "pair": Fraction(2)}
_US = _volumes(US_GALLON, 128) | {"cup": US_GALLON / 16, "tbsp": US_GALLON / 256, "tsp": US_GALLON / 768}
_METRIC_SPOONS = {"cup": Fraction(250), "tbsp": Fraction(15), "tsp": Fraction(5)}
_VOLUME = {
    "US": _METRIC | _US,
    "imperial": _METRIC | _volumes(IMPERIAL_GALLON, 160) | _METRIC_SPOONS,
    "metric": _METRIC | _US | _METRIC_SPOONS,
}

# Other spellings. 'C' and 'T' stay out: C is a temperature, T and t differ by three.
_ALSO = {
    "gram": "g", "grams": "g", "gr": "g", "kilo": "kg", "kilos": "kg", "kilogram": "kg", "kgs": "kg", "#": "lb", "lbs": "lb",
    "pound": "lb", "pounds": "lb", "ounce": "oz", "ounces": "oz", "ozs": "oz", "millilitre": "ml", "milliliter": "ml",
    "litre": "l", "liter": "l", "litres": "l", "liters": "l", "ltr": "l", "lt": "l", "gallon": "gal", "gallons": "gal",
    "gals": "gal", "quart": "qt", "quarts": "qt", "qts": "qt", "pint": "pt", "pints": "pt", "pts": "pt", "cups": "cup",
    "tablespoon": "tbsp", "tablespoons": "tbsp", "tbs": "tbsp", "tbsps": "tbsp", "teaspoon": "tsp", "teaspoons": "tsp",
    "tsps": "tsp", "fluid ounce": "fl oz", "fluid ounces": "fl oz", "fl. oz.": "fl oz", "floz": "fl oz", "fl.oz": "fl oz",
    "": "each", "ea": "each", "ea.": "each", "ct": "each", "count": "each", "pc": "each", "pcs": "each", "piece": "each",
    "pieces": "each", "unit": "each", "units": "each", "plate": "each", "plates": "each", "portion": "each",
    "portions": "each", "dozen": "doz", "dz": "doz", "pairs": "pair",
}  # fmt: skip


@lru_cache(maxsize=4096)
def find_unit(text: str, system: str = "US") -> Unit:
    """The unit that a text names.

    Args:
        text: as written; case does not matter.
        system: 'US', 'imperial' or 'metric' (US quarts and gallons, metric spoons and cups).

    Raises:
        ReadError: unit-unknown, with the nearest known ones.
    """
    word = " ".join(text.lower().strip().rstrip(".").split())
    name = _ALSO.get(word, word)
    for dimension, table in (("mass", _MASS), ("volume", _VOLUME[system]), ("count", _COUNT)):
        if name in table:
            return Unit(name, dimension, table[name])  # type: ignore[arg-type]
    scoop = re.fullmatch(r"#(\d+) (?:scoop|disher)", word)
    if scoop and int(scoop.group(1)):
        return Unit(word, "volume", _US["qt"] / int(scoop.group(1)))
    raise _unknown(text, system)


def is_unit(text: str, system: str = "US") -> bool:
    """Whether a text names a unit of mass, volume or count."""
    try:
        return bool(text) and bool(find_unit(text, system))
    except ReadError:
        return False


def to_base(
    number: Fraction, unit_text: str, base: str, measures: Mapping[str, Fraction], system: str = "US"
) -> Fraction:
    """A quantity in an item's base unit, exactly [base].

    Args:
        number: how many.
        unit_text: unit or the item's own measure ('bunch'), as written.
        base: 'g', 'ml' or 'each'.
        measures: the item's own: measure -> quantity in base. 'g', 'ml' and 'each' bridge the dimensions.

    Raises:
        ReadError: unit-unknown; unit-no-measure where the item has nothing to convert with.
    """
    own = _own_measure(unit_text, measures)
    if own is not None:
        return number * own
    unit = find_unit(unit_text, system)
    if unit.dimension == BASE[base]:
        return number * unit.factor
    bridge = next(name for name, dimension in BASE.items() if dimension == unit.dimension)
    if bridge in measures:
        return number * unit.factor * measures[bridge]
    raise ReadError(
        "unit-no-measure",
        f'nothing says what 1 {unit_text or "each"} of it is in {base}',
        f"{unit.name} is {unit.dimension}, and it is kept in {base}.",
        f"add a row to measures: 1 {unit_text or 'ea'}, and what that is in {base}",
    )


def as_measure(text: str, system: str = "US", mark: str = ".") -> tuple[str, Fraction]:
    """A measure's name and how many of it a row speaks of: '1 cup' is ('ml', 236.588...), 'bunch' is ('bunch', 1).

    Raises:
        ReadError: number-bad.
    """
    found = re.match(r"\s*[\d.,¼½¾⅓⅔/ ]*\d?[\d¼½¾⅓⅔]\s+", text)
    number = read_number(found.group().strip(), mark) if found else Fraction(1)
    word = (text[found.end() :] if found else text).strip()
    try:
        unit = find_unit(word, system)
    except ReadError:
        return " ".join(word.lower().split()), number
    bridge = next(name for name, dimension in BASE.items() if dimension == unit.dimension)
    return bridge, number * unit.factor


def _own_measure(unit_text: str, measures: Mapping[str, Fraction]) -> Fraction | None:
    """The item's own word for a measure, in one or many: bunch, bunches, sprigs, loaves are not guessed further."""
    word = " ".join(unit_text.lower().split())
    for form in (word, word.removesuffix("s"), word.removesuffix("es")):
        if form in measures and form not in BASE:
            return measures[form]
    return None


def _unknown(text: str, system: str) -> ReadError:
    known = [*_MASS, *_VOLUME[system], *_COUNT]
    near = difflib.get_close_matches(text.lower(), [*known, *filter(None, _ALSO)], 1, 0.7)
    hint = f' Nearest: "{near[0]}".' if near else ""
    return ReadError(
        "unit-unknown",
        f'unknown unit "{text[:60]}"',
        f"Known here: {', '.join(known)}.{hint}",
        "use one of these, or give the item its own row in measures",
    )
