"""The one place of units. Exact factors, looked up once per unit; mass, volume and count are three things.

Between mass, volume and count there is no factor, only an item's own measures (`item_measures`): without one
the conversion is refused, never guessed. `oz` is mass, `fl oz` is volume.

Source: NIST Handbook 44 Appendix C for the US measures (1 gal = 231 in3 exactly, 1 lb = 453.59237 g exactly);
imperial gallon 4.54609 L exactly; a number 16 scoop is 32/16 US fl oz, nominal (school-nutrition card). Metric
cup and spoons, 250, 15 and 5 ml, are custom; an Australian tablespoon is 20 ml. Rare measures come from pint,
once for each name.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Literal

from stillroom.db.number import VULGAR, ReadError, leading_number
from stillroom.db.problems import quoted

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
    "mg": Fraction(1, 1000), "g": Fraction(1), "dag": Fraction(10), "kg": Fraction(1000),
    "oz": POUND / 16, "lb": POUND,
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

# Letters that cooks write for two things: C is a cup or a temperature, T and t differ by three. Never read.
TWO_MEANINGS = {"C": "cup", "c": "cup", "T": "tbsp", "t": "tsp"}
# Other spellings; full stops and a last 's' are taken off before.
_ALSO = {
    "gram": "g", "gr": "g", "kilo": "kg", "kilogram": "kg", "milligram": "mg", "#": "lb", "pound": "lb",
    "ounce": "oz", "millilitre": "ml", "milliliter": "ml", "cc": "ml", "centilitre": "cl", "centiliter": "cl",
    "decilitre": "dl", "deciliter": "dl", "litre": "l", "liter": "l", "ltr": "l", "lt": "l",
    "gallon": "gal", "quart": "qt", "pint": "pt", "tablespoon": "tbsp", "tbs": "tbsp", "teaspoon": "tsp",
    "fluid ounce": "fl oz", "floz": "fl oz",
    "": "each", "ea": "each", "ct": "each", "count": "each", "pc": "each", "piece": "each", "unit": "each",
    "plate": "each", "portion": "each", "dozen": "doz", "dz": "doz",
}  # fmt: skip
# Measures that few kitchens need: our name -> pint's name.
_RARE = {
    "dry pt": "dry_pint", "dry pint": "dry_pint", "dry qt": "dry_quart", "dry quart": "dry_quart",
    "gill": "gill", "peck": "peck", "bushel": "bushel",
}  # fmt: skip
# Words for things whose size differs from food to food.
_NUMBERED_CAN = re.compile(r"#[0-9]{1,3}½? cans?")
_CONTAINER = re.compile(
    r"#[0-9]{1,3}½? cans?|(?:can|tin|jar|bottle|case|cs|box|bag|sack|tray|flat|tub|pail|drum|carton|pack|packet"
    r"|sleeve|stick|bunch|head|clove|sprig|leaf|slice|sheet|loaf|wheel|block|side|rack|bulb|stalk|pinch|handful)(?:s|es)?"
)


@lru_cache(maxsize=4096)
def find_unit(text: str, system: str = "US") -> Unit:
    """The unit that a text names.

    Args:
        text: as written; case, full stops and a plural 's' do not matter.
        system: 'US', 'imperial' or 'metric' (US quarts and gallons, metric spoons and cups).

    Raises:
        ReadError: unit-unknown, with the nearest known ones.
    """
    word = _plain(text)
    singular = word.removesuffix("s") if len(word) > 2 else word
    for form in (word, singular):
        name = _ALSO.get(form, form)
        for dimension, table in (("mass", _MASS), ("volume", _VOLUME[system]), ("count", _COUNT)):
            if name in table:
                return Unit(name, dimension, table[name])  # type: ignore[arg-type]
    scoop = re.fullmatch(r"(?:#|no )\s?([1-9][0-9]{0,2}) (?:scoop|disher)", singular)
    if scoop:
        return Unit(f"#{scoop.group(1)} scoop", "volume", _US["qt"] / int(scoop.group(1)))
    if singular in _RARE:
        return _from_pint(singular)
    raise _unknown(text, system)


def two_sizes(text: str) -> tuple[str, str] | None:
    """What a pint, quart, gallon or fluid ounce holds in the US and in Britain, in words; None for any other unit.

    Example:
        >>> two_sizes("pints"), two_sizes("ml")
        (('473 ml', '568 ml'), None)
    """
    try:
        us, uk = find_unit(text, "metric").factor, find_unit(text, "imperial").factor
    except ReadError:
        return None
    return None if us == uk else (f"{float(us):.0f} ml", f"{float(uk):.0f} ml")


@lru_cache(maxsize=16)
def _from_pint(name: str) -> Unit:
    """A rare measure's exact factor; pint is imported when the first of them is met."""
    import pint

    one = pint.UnitRegistry(non_int_type=Fraction).Quantity(Fraction(1), _RARE[name])
    return Unit(name, "volume", Fraction(one.to("ml").magnitude))


def _plain(text: str) -> str:
    return " ".join(text[:100].lower().replace(".", " ").split())


@lru_cache(maxsize=65536)
def is_unit(text: str, system: str = "US") -> bool:
    """Whether a text names a unit of mass, volume or count, or a numbered can; an empty one does not."""
    if not text or _NUMBERED_CAN.fullmatch(_plain(text)):
        return bool(text)
    try:
        return bool(find_unit(text, system))
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
        system: whose cups, spoons and pints.

    Raises:
        ReadError: unit-unknown; unit-no-measure where the item has nothing to convert with.
    """
    if measures:
        for form in _forms(unit_text):
            if form in measures:
                return number * measures[form]
    factor, bridge = _factor(unit_text, base, system)
    if not bridge:
        return number * factor
    if bridge in measures:
        return number * factor * measures[bridge]
    raise _no_measure(unit_text, base, bridge, system)


@lru_cache(maxsize=65536)
def _forms(unit_text: str) -> tuple[str, ...]:
    """How an item's own measure may be called: bunch, bunches. Base units are bridges, not names."""
    word = " ".join(unit_text.lower().split())
    return tuple(form for form in (word, word.removesuffix("s"), word.removesuffix("es")) if form not in BASE)


@lru_cache(maxsize=65536)
def _factor(unit_text: str, base: str, system: str) -> tuple[Fraction, str]:
    """A unit's factor, and the bridge it needs to get to base: 'g', 'ml', 'each', or '' for none."""
    if _CONTAINER.fullmatch(_plain(unit_text)):
        return Fraction(1), unit_text
    unit = find_unit(unit_text, system)
    bridge = next(name for name, dimension in BASE.items() if dimension == unit.dimension)
    return unit.factor, "" if bridge == base else bridge


def _no_measure(unit_text: str, base: str, bridge: str, system: str) -> ReadError:
    word = unit_text or "each"
    kind = BASE.get(bridge)
    why = (
        f"That is {kind}, and it is kept in {base}."
        if kind
        else f"The size of a {word} differs from food to food."
    )
    fix = f"add a row to measures: 1 {unit_text or 'ea'}, and what that is in {base}"
    here = (
        f"write it in {_KEPT['US' if system == 'US' else ''][base]}, and tell the chef: the kitchen's files don't say"
        f" what 1 {word} of it is"
    )
    return ReadError("unit-no-measure", f"nothing says what 1 {word} of it is in {base}", why, fix, here)


_KEPT = {"US": {"g": "lb", "ml": "qt", "each": "ea"}, "": {"g": "kg", "ml": "l", "each": "ea"}}


def as_measure(text: str, system: str = "US", mark: str = ".") -> tuple[str, Fraction]:
    """A measure's name and how many of it a row speaks of: '1 cup' is ('ml', 236.588...), 'bunch' (.., 1).

    Raises:
        ReadError: number-bad.
    """
    starts = re.match(rf"\s*[-−.,0-9{VULGAR}]", text)
    number, _, rest = leading_number(text, mark) if starts else (Fraction(1), "", text)
    if number <= 0:
        raise ReadError(
            "number-bad", f"{quoted(text)} is not above zero", "", 'write what is measured: "1 cup"'
        )
    word = " ".join(rest.lower().split())
    try:
        unit = find_unit(word, system)
    except ReadError:
        return word, number
    bridge = next(name for name, dimension in BASE.items() if dimension == unit.dimension)
    return bridge, number * unit.factor


def _unknown(text: str, system: str) -> ReadError:
    known = [*_MASS, *_VOLUME[system], *_COUNT]
    near = difflib.get_close_matches(_plain(text), [*known, *filter(None, _ALSO), *_RARE], 1, 0.8)
    hint = f' Nearest: "{near[0]}".' if near else ""
    meant = TWO_MEANINGS.get(text.strip().rstrip("."))
    return ReadError(
        "unit-unknown", f"unknown unit {quoted(text)}", f"Known here: {', '.join(known)}.{hint}",
        f"write {meant} if that is meant" if meant else "use one of these, or give the item its own row in measures",
        "" if meant else "use one of these",
    )  # fmt: skip


def substitute_quantity(
    ratio: Fraction, old_unit: str, new_unit: str, ratio_unit: str, measures: Mapping[str, Fraction]
) -> Fraction | None:
    """Quantity of the substitute [new_unit] for one [old_unit] of the original; None where it doesn't convert.

    Args:
        ratio: quantity of the substitute for one of the original [ratio_unit, or old_unit where that is '']
        old_unit: base unit of the original.
        new_unit: base unit of the substitute.
        ratio_unit: unit of the ratio.
        measures: the substitute's own measures: measure -> quantity [new_unit].
    """
    unit = ratio_unit or old_unit
    if unit == new_unit:
        return ratio
    return ratio * measures[unit] if unit in measures else None
