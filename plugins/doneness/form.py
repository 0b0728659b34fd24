"""A piece and its steps as they are typed, read field by field; what is wrong stands beside its field."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TypeVar

from stillroom.db.moments import read_clock, read_span
from stillroom.db.number import ReadError
from stillroom.db.pieces import WORKED
from stillroom.db.quantity import read_length, read_number, read_percent, read_temperature
from stillroom.plugins.doneness.foods import records_of
from stillroom.plugins.physics.conduction import LONGEST_S, TYPICAL, Material
from stillroom.plugins.physics.errors import HeatError, within
from stillroom.plugins.physics.programme import SHAPES, THICKEST_M, THINNEST_M, Piece, Shape, Step, surroundings
from stillroom.plugins.physics.properties import Composition, heat_properties
from stillroom.plugins.physics.rules import Minimum, own_minimum
from stillroom.plugins.physics.temperature import c_from_f, f_from_c

T = TypeVar("T")
MOST_STEPS = 12
STEP_FIELDS = ("step", "at", "to", "time", "until", "turns", "own")
RULE_FIELDS = ("rule_core", "rule_hold", "rule_stands")
KIND_WORDS = {
    "bath": "bath", "oven_dry": "oven, dry", "oven_humid": "oven, humid", "grill": "grill", "pan": "pan",
    "hot_zone": "hot zone", "cool_zone": "cool zone", "hang": "hang before a fire", "rest": "rest", "ice": "ice bath",
    "chiller": "chiller", "blast": "blast chiller",
}  # fmt: skip
SHAPE_WORDS = {
    "slab": "slab, wide", "brick": "brick: width and length", "rod": "rod: width", "long_cylinder": "long cylinder",
    "finite_cylinder": "cylinder: length", "sphere": "ball", "factor": "between these: how round",
}  # fmt: skip


@dataclass(frozen=True)
class Asked:
    """One step as asked for.

    seconds: None where it lasts until the core is at until_f [°F]; number: 1 is the first; own_h: the house's own
    surface coefficient [W/m2K], on a person's word; end_c: what the surroundings run to over the time [°C].
    """

    number: int
    kind: str
    temp_c: float
    seconds: float | None
    until_f: float | None
    turns: int
    own_h: float | None = None
    end_c: float | None = None


@dataclass(frozen=True)
class Read:
    """What could be read. wrong: words for a field, by its name; piece is None when it can't be made."""

    typed: Mapping[str, str]
    wrong: dict[str, str] = field(default_factory=dict)
    piece: Piece | None = None
    steps: tuple[Asked, ...] = ()
    peak_f: float | None = None
    ready: str = ""
    begin: str = ""
    own: Minimum | None = None


def read_form(typed: Mapping[str, str], mark: str = ".") -> Read:
    """The piece and the steps of a form.

    Args:
        typed: text by field: food, worked, shape, thickness, width, length, factor, start, water, fat; step1, at1, to1,
            time1, until1, turns1 and so on; rule_core, rule_hold, rule_stands; peak, ready, begin.
        mark: the kitchen's decimal mark.
    """
    wrong: dict[str, str] = {}
    reader = Fields(typed, wrong, mark)
    piece = _piece(reader)
    if reader.text("worked") not in {"", *WORKED}:
        wrong["worked"] = "Choose one of them."
    steps = _steps(reader)
    peak = reader.optional("peak", lambda text: read_temperature(text, mark).f)
    clocks = {name: reader.optional(name, read_clock) or "" for name in ("ready", "begin")}
    if clocks["ready"] and clocks["begin"]:
        wrong.setdefault("begin", "Give one of the two times: the other follows from it.")
    if piece is not None and peak is not None and c_from_f(peak) <= piece.start_c:
        wrong["peak"] = f"The piece starts at {piece.start_c * 1.8 + 32:.0f} °F, above what it is to reach."
    return Read(typed, wrong, piece, steps, peak, **clocks, own=_own_rule(reader))


@dataclass
class Fields:
    """Reads one field at a time and remembers what was wrong."""

    typed: Mapping[str, str]
    wrong: dict[str, str]
    mark: str

    def text(self, name: str) -> str:
        return self.typed.get(name, "").strip()[:80]

    def optional(self, name: str, read: Callable[[str], T]) -> T | None:
        """What a field says, None where it is empty or wrong."""
        if not self.text(name):
            return None
        try:
            return read(self.text(name))
        except ReadError as error:
            self.wrong[name] = ": ".join(part for part in (error.what, error.do) if part) + "."
        except HeatError as error:
            self.wrong[name] = _sentence(error)
        return None

    def needed(self, name: str, read: Callable[[str], T], words: str) -> T | None:
        """What a field says; wrong where it is empty."""
        if not self.text(name):
            self.wrong[name] = words
        return self.optional(name, read)


def _sentence(error: Exception) -> str:
    text = str(error)
    return f"{text[:1].upper()}{text[1:]}."


def _length_m(text: str, mark: str, name: str) -> float:
    if re.fullmatch(r"0[0.,]*\s*[a-z]*", text.strip()):
        raise HeatError(f"{name} is 0; allowed is {THINNEST_M * 1000:g} to {THICKEST_M * 1000:g} mm")
    length = float(read_length(text, mark)) / 1000
    most = THICKEST_M * 1000 if name == "thickness" else 2000.0
    within(name, length * 1000, THINNEST_M * 1000, most, "mm")
    return length


def _piece(reader: Fields) -> Piece | None:
    shape = reader.text("shape") or "slab"
    if shape not in SHAPE_WORDS:
        reader.wrong["shape"] = "Choose one of the shapes."
        return None
    sizes: dict[str, float | None] = {
        "thickness_m": reader.needed("thickness", lambda t: _length_m(t, reader.mark, "thickness"), "Say how thick."),
        "width_m": _needed_for(reader, "width", shape, ("rod", "brick")),
        "length_m": _needed_for(reader, "length", shape, ("brick", "finite_cylinder")),
    }
    beta = None
    if shape == "factor":
        words = "Say how round it is: 0 a slab, 1 a cylinder, 2 a ball."
        beta = reader.needed("factor", lambda t: float(read_number(t, reader.mark)), words)
        if beta is not None and not 0 <= beta <= 4:
            reader.wrong["factor"] = "0 is a slab, 1 a cylinder, 2 a ball; allowed is 0 to 4."
    start = reader.needed("start", lambda t: _start_c(t, reader.mark), "Say what it starts at.")
    material = _material(reader) or TYPICAL
    if any(name in reader.wrong for name in ("thickness", "width", "length", "factor", "start", "water", "fat")):
        return None
    assert sizes["thickness_m"] is not None and start is not None
    try:
        food = records_of(reader.text("food"))
        return Piece(
            sizes["thickness_m"], _shape(shape), start, sizes["width_m"], sizes["length_m"], beta, material, food
        )
    except HeatError as error:
        reader.wrong["thickness"] = _sentence(error)
        return None


def _own_rule(reader: Fields) -> Minimum | None:
    """The kitchen's own rule: a core, how long, and where it stands; none of it, or at least the core and the place."""
    core = reader.optional("rule_core", lambda text: _core_f(text, reader.mark))
    hold = reader.optional("rule_hold", lambda text: _seconds(text, reader.mark))
    core_said, hold_said, stands = (reader.text(name) for name in RULE_FIELDS)
    if core_said and not stands:
        reader.wrong["rule_stands"] = "Say where the rule stands: house plan 3."
    if not core_said and (hold_said or stands):
        reader.wrong["rule_core"] = "Say what every part reaches: a rule is a core and where it stands."
    if core is None or any(name in reader.wrong for name in RULE_FIELDS):
        return None
    return own_minimum(core, hold or 0.0, stands)


def _core_f(text: str, mark: str) -> float:
    said = read_temperature(text, mark)
    within("core", said.c, 30.0, 100.0, "°C")
    return said.f


def _shape(text: str) -> Shape:
    return next(name for name in SHAPES if name == text)


def _needed_for(reader: Fields, name: str, shape: str, shapes: tuple[str, ...]) -> float | None:
    if shape not in shapes:
        return None
    return reader.needed(name, lambda t: _length_m(t, reader.mark, name), f"This shape needs its {name}.")


def _start_c(text: str, mark: str) -> float:
    said = read_temperature(text, mark)
    hint = f"; if {float(said.number):g} °F was meant, write °F" if said.scale == "C" and said.c > 30 else ""
    if said.c > 60:
        raise HeatError(f"it starts at {said.c:.0f} °C, hotter than a raw piece is{hint}")
    within("start temperature", said.c, -40.0, 60.0, "°C")
    return said.c


def _material(reader: Fields) -> Material | None:
    """Heat properties from water and fat, where both are said."""
    water, fat = (reader.optional(n, lambda t: float(read_percent(t, reader.mark))) for n in ("water", "fat"))
    if water is None or fat is None:
        return None
    if not 0.3 <= water <= 0.95 or water + fat > 0.99:
        reader.wrong["water"] = "Water is 30 to 95 %, and water and fat together at most 99 %."
        return None
    return heat_properties(Composition(water, max(1 - water - fat - 0.01, 0.0), fat, ash=0.01)).material


def _steps(reader: Fields) -> tuple[Asked, ...]:
    found = [_step(reader, n) for n in range(1, MOST_STEPS + 1) if reader.text(f"step{n}")]
    if not found:
        reader.wrong["step1"] = "A programme needs at least one step."
    return tuple(step for step in found if step is not None)


def _step(reader: Fields, number: int) -> Asked | None:
    kind = reader.text(f"step{number}")
    if kind not in surroundings():
        reader.wrong[f"step{number}"] = "Choose one of the steps."
        return None
    temp = reader.needed(f"at{number}", lambda t: _temp_c(t, kind, reader.mark), "Say how hot, with °F or °C.")
    seconds = reader.optional(f"time{number}", lambda t: _seconds(t, reader.mark))
    until = reader.optional(f"until{number}", lambda t: read_temperature(t, reader.mark).f)
    turns = reader.optional(f"turns{number}", lambda t: _turns(t, kind)) or 0
    own = reader.optional(f"own{number}", lambda t: within("heat given", float(read_number(t)), 3.0, 2000.0, "W/m²K"))
    if not reader.text(f"time{number}") and not reader.text(f"until{number}"):
        reader.wrong[f"time{number}"] = "A step without end: say how long, or until which core."
    end = reader.optional(f"to{number}", lambda t: _temp_c(t, kind, reader.mark))
    if end is not None and (seconds is None or until is not None):
        reader.wrong[f"to{number}"] = "It runs there over a time of its own: the next step may go on until the core."
    if any(f"{name}{number}" in reader.wrong for name in STEP_FIELDS):
        return None
    assert temp is not None
    return Asked(number, kind, temp, seconds, until, turns, own, end)


def _temp_c(text: str, kind: str, mark: str) -> float:
    """The temperature, checked against what the step can have; says where the other scale would fit."""
    said, row = read_temperature(text, mark), surroundings()[kind]
    try:
        Step(kind, 1.0, said.c)
    except HeatError:
        number, low, high = float(said.number), row.temp_low_c, row.temp_high_c
        other = c_from_f(number) if said.scale == "C" else number
        meant = {"C": "F", "F": "C"}[said.scale]
        hint = f"; if {number:g} °{meant} was meant, write °{meant}" if low <= other <= high else ""
        if said.scale == "F":
            low, high = f_from_c(low), f_from_c(high)
        range_said = f"{low:g} to {high:g} °{said.scale}"
        what = f"{number:g} °{said.scale} is outside {range_said}, what a step “{KIND_WORDS[kind]}” can be"
        raise HeatError(f"{what}{hint}") from None
    return said.c


def _seconds(text: str, mark: str) -> float:
    seconds = float(read_span(text, mark))
    within("time", seconds / 3600, 0.0, LONGEST_S / 3600, "h")
    return seconds


def _turns(text: str, kind: str) -> int:
    turns = read_number(text)
    if turns.denominator != 1 or not 0 <= turns <= 200:
        raise HeatError("turns are a whole number, 0 to 200")
    if turns and not surroundings()[kind].one_sided:
        raise HeatError(f"a {KIND_WORDS[kind]} heats from all sides; there is nothing to turn")
    return int(turns)
