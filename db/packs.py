"""A supplier's pack, read exactly: how many pieces of what size a case holds.

Packs are written count/size by trade habit (common practice, no source): 6/#10, 4/1 gal, 24/12 ct, 2/5#.
'#' before a number is a can's number, behind a number it is a pound.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from stillroom.db.number import VULGAR, ReadError, leading_number, read_number
from stillroom.db.problems import quoted

CATCH_WEIGHT = {"catch weight", "catch wt", "catchweight", "cw", "random weight", "random wt"}
_COUNTED = re.compile(r"([0-9][0-9.,o]*)\s*(?:/|x)\s*(.+)")
_CAN = re.compile(r"(?:#|no\.?)\s?([1-9][0-9]{0,2})\s?(½|1/2)?(?: cans?)?")
# Read as a fraction or as count/size: half a gallon, or one of two gallons.
_TWO_WAYS = re.compile(r"(1/2|1/3|2/3|1/4|3/4)\s*([^\s0-9/].*)")


@dataclass(frozen=True)
class Pack:
    """count pieces of size unit_text each; size is 1 and unit_text the container where none is said."""

    count: Fraction
    size: Fraction
    unit_text: str
    is_catch_weight: bool = False


@lru_cache(maxsize=65536)
def read_pack(text: str, mark: str = ".") -> Pack:
    """A supplier's pack: 6/#10, 4/1 gal, 24/12 ct, 2/5#, 4/5 lb, 20/250 g, 12 x 750 ml, 10 kg, catch weight.

    Raises:
        ReadError: pack-bad, number-bad.
    """
    if len(text) > 200:
        raise _bad(text)
    plain = " ".join(text.lower().replace("×", "x").split())
    if plain.replace("-", " ") in CATCH_WEIGHT:
        return Pack(Fraction(1), Fraction(1), "", True)
    _refuse_two_ways(text, plain)
    counted = _COUNTED.fullmatch(plain)
    count_text, each = counted.groups() if counted else ("1", plain)
    count = read_number(count_text, mark)
    size, unit = _each(each, text, mark)
    if count <= 0 or size <= 0 or not unit:
        raise _bad(text)
    return Pack(count, size, unit)


def _each(each: str, text: str, mark: str) -> tuple[Fraction, str]:
    """Size and unit of one piece: '1 gal', '5#' (5 lb), '#10' (1 '#10 can'), 'tray' (1 tray)."""
    can = _CAN.fullmatch(each)
    if can:
        return Fraction(1), f"#{can.group(1)}{'½' if can.group(2) else ''} can"
    if not re.match(rf"[-.,0-9{VULGAR}]", each):
        size, written, unit = Fraction(1), "", each
    else:
        size, written, unit = leading_number(each, mark)
    is_top_heavy = (
        "/" in written and " " not in written and size >= 1
    )  # 4/6/5 lb is three numbers, no fraction
    if is_top_heavy or re.search(r"[0-9/]", unit):
        raise _bad(text)
    return size, "lb" if unit.strip() == "#" else unit.strip()


def _refuse_two_ways(text: str, plain: str) -> None:
    found = _TWO_WAYS.fullmatch(plain)
    if found and found.group(2) != "#":
        count, size = found.group(1).split("/")
        half = {"1/2": "½", "1/3": "⅓", "2/3": "⅔", "1/4": "¼", "3/4": "¾"}[found.group(1)]
        unit = found.group(2)
        raise ReadError(
            "pack-bad", f"{quoted(text)} can be read two ways", "It is a fraction, or a count and a size.",
            f"write {half} {unit}, or {count} x {size} {unit}",
        )  # fmt: skip


def _bad(text: str) -> ReadError:
    fix = "write 6/#10, 4/1 gal, 24/12 ct, 2/5#, 10 kg, or catch weight"
    return ReadError("pack-bad", f"{quoted(text)} is not a pack", "", fix)
