"""The cooling planner: a pan, where it cools, whether it passes, how deep it may be, what to do instead."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from stillroom.db.pieces import COOLS_AS
from stillroom.db.quantity import read_length, read_temperature
from stillroom.plugins.doneness.form import Fields
from stillroom.plugins.physics.conduction import Material
from stillroom.plugins.physics.cooling import (
    LEAST_DEPTH_M,
    MOST_DEPTH_M,
    PUREE,
    CoolingForecast,
    Pan,
    Place,
    cool_pan,
    deepest_pan_m,
    instead,
    place,
)
from stillroom.plugins.physics.errors import HeatError, NotReachable, within

PLACES = {
    "walk_in_open": "walk-in, still air", "walk_in_fan": "walk-in, in the fan", "blast": "blast chiller",
    "ice_in_walk_in": "pan on ice, inside the walk-in", "ice_in_kitchen": "pan on ice, in the kitchen",
    "ice_stirred": "pan or vat on ice, stirred throughout", "bag_on_ice": "flat bag in stirred ice and water",
}  # fmt: skip
# Meat in liquid or packed: the slow end of measured meats, as in the cooking programmes.
FOODS = {"thick": PUREE, "meat": Material(0.48, 1.11e-7)}
FOOD_WORDS = {"thick": "purée, sauce, stew, beans", "meat": "meat in one piece or packed tight"}
LIDS = {"off": "lid off", "on": "lid on"}
# What goes in where nobody says [°F]: where the clock of cooked food starts; a room; live shellfish off the van, which
# is at most 50 °F inside by training texts (cooling_holding.csv).
STARTS_F = {"cooked": 135.0, "ambient": 70.0, "received": 50.0}
COOLEST_HOT_F = 90.0  # common practice, no source
AIR = frozenset({"walk_in_open", "walk_in_fan", "blast"})
NO_LID = frozenset({"ice_stirred", "bag_on_ice"})


@dataclass(frozen=True)
class Instead:
    """A place in which some depth passes. deepest_mm: rounded down [mm]; passes_now: this pan does."""

    word: str
    deepest_mm: int
    any_depth: bool
    passes_now: bool


@dataclass(frozen=True)
class Cooled:
    """The answer for a pan. deepest_mm: deepest that passes in that place, rounded down [mm]; None where none does."""

    forecast: CoolingForecast
    place: Place
    depth_mm: float
    deepest_mm: int | None
    any_depth: bool
    instead: tuple[Instead, ...]
    lid: bool = False


@dataclass(frozen=True)
class PanRead:
    """What could be read of the form. pan, place: None where a field is wrong."""

    wrong: dict[str, str]
    pan: Pan | None
    place: str
    air_c: float | None
    lid: bool = False


def read_pan(typed: Mapping[str, str], mark: str) -> PanRead:
    """A pan from a form: depth, food, rule, start, place, lid, air."""
    wrong: dict[str, str] = {}
    reader = Fields(typed, wrong, mark)
    depth = reader.needed("depth", lambda text: _depth_m(text, mark), "Say how deep the food stands.")
    rule = reader.text("rule") or "cooked"
    if rule not in COOLS_AS:
        wrong["rule"], rule = "Choose what it is.", "cooked"
    start = reader.optional("start", lambda text: _start_f(text, mark, rule)) or STARTS_F[rule]
    air = reader.optional("air", lambda text: _air_c(text, mark))
    where = reader.text("place") or "walk_in_open"
    if where not in PLACES:
        wrong["place"] = "Choose one of the places."
    food = reader.text("food") or "thick"
    if food not in FOODS:
        wrong["food"] = "Choose one of the foods."
    lid = reader.text("lid") or "off"
    if lid not in LIDS:
        wrong["lid"] = "Choose lid off or lid on."
    elif lid == "on" and where in NO_LID:
        wrong["lid"] = "What is stirred, or lies in a bag, has no lid on."
    if wrong or depth is None:
        return PanRead(wrong, None, where, None)
    pan = Pan(depth, start, FOODS[food], cools_as=rule)
    return PanRead(wrong, pan, where, air if where in AIR else None, lid == "on")


def _depth_m(text: str, mark: str) -> float:
    if re.fullmatch(r"0[0.,]*\s*[a-z]*", text.strip()):
        raise HeatError("the depth is 0; allowed is 5 to 300 mm")
    depth = float(read_length(text, mark))
    within("depth", depth, LEAST_DEPTH_M * 1000, MOST_DEPTH_M * 1000, "mm")
    return depth / 1000


def _start_f(text: str, mark: str, rule: str) -> float:
    start = read_temperature(text, mark).f
    if rule == "cooked" and start < 135:
        raise HeatError("both clocks start at 135 °F: give the temperature it goes in at, 135 °F or more")
    if rule != "cooked" and start > COOLEST_HOT_F:
        raise HeatError(f"{start:g} °F is hotter than a room or a van: such food was cooked")
    within("start temperature", start, 42.0, 212.0, "°F")
    return start


def _air_c(text: str, mark: str) -> float:
    air = read_temperature(text, mark).c
    within("air temperature", air, -40.0, 40.0, "°C")
    return air


@lru_cache(maxsize=64)
def cooled(pan: Pan, where: str, air_c: float | None, lid: bool = False) -> Cooled:
    """Whether a pan passes, by how much, and what passes instead.

    Args:
        pan: the pan.
        where: a key of PLACES.
        air_c: the kitchen's own air [°C], or None.
        lid: whether a lid lies on it.

    Raises:
        HeatError: the food doesn't fall to 135 °F there.
    """
    found = place(where, air_c, lid=lid)
    try:
        deepest: float | None = deepest_pan_m(pan, found)
    except NotReachable:
        deepest = None
    open_pan = replace(pan, depth_m=LEAST_DEPTH_M)
    ways = tuple(
        _way(PLACES[other.name] + (", lid off" if other.name == where else ""), depth, pan)
        for other, depth in instead(open_pan)
        if other.name in PLACES and (other.name != where or lid)
    )
    return Cooled(
        cool_pan(pan, found),
        found,
        pan.depth_m * 1000,
        None if deepest is None else int(deepest * 1000),
        deepest is not None and deepest >= MOST_DEPTH_M,
        ways,
        lid,
    )


def _way(word: str, deepest_m: float, pan: Pan) -> Instead:
    return Instead(word, int(deepest_m * 1000), deepest_m >= MOST_DEPTH_M, deepest_m >= pan.depth_m)
