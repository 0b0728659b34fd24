"""Cooling of pans, bags and vats against the limits of their rule: cooked food 135 to 70 °F in 2 h, to 41 °F in 6 h.

Each limit counts from the moment at which the first part of the food falls to 135 °F until the last part is there: so
every part keeps it by its own clock, and food that goes in hotter is never let off by its edges having cooled before.

Conduction only, at the hottest point. Thin soup moves and is quicker; thick purée does not. Steam off an open pan is
left out, which is the cautious side. Depth decides the first stage, the room the last one: 41 °F is 3 °F above a
38 °F room.
"""

from __future__ import annotations

import csv
import io
import math
from dataclasses import dataclass, replace
from functools import lru_cache
from importlib.resources import files
from typing import TYPE_CHECKING

from .conduction import Body, Face, Material, Segment, Slab, Symmetric
from .errors import HeatError, NotReachable, within
from .roots import bracketed_root
from .rules import CoolingRule, cooling_rule
from .temperature import c_from_f

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

# Vegetable purée. Source: check set of the engine; measured purées reach 1.8e-7 (thermal_properties.csv), so cautious.
PUREE = Material(0.55, 1.4e-7)
# Still air between food and lid [W/m2K]: what turns 12 over an open pan into 3 over a covered one. Estimate.
UNDER_LID_H = 4.0
LONGEST_LOOK_S = 48 * 3600.0
LEAST_DEPTH_M, MOST_DEPTH_M = 0.005, 0.30


@dataclass(frozen=True)
class Place:
    """Where a pan cools; one row of cooling_places.csv."""

    name: str
    top: Face
    bottom: Face
    stirred_u: float | None
    basis: str
    note: str


@lru_cache(maxsize=1)
def places() -> dict[str, Place]:
    """Every place, by name."""
    text = (files("stillroom.plugins.physics") / "cooling_places.csv").read_text(encoding="utf-8")
    return {row["place"]: _place(row) for row in csv.DictReader(io.StringIO(text))}


def _place(row: dict[str, str]) -> Place:
    return Place(
        row["place"],
        Face(float(row["top_h"] or 0), float(row["top_c"])),
        Face(float(row["bottom_h"] or 0), float(row["bottom_c"])),
        float(row["stirred_u"]) if row["stirred_u"] else None,
        row["basis"],
        row["note"],
    )


def place(name: str, air_c: float | None = None, *, lid: bool = False) -> Place:
    """One place, with the kitchen's own air where it is known.

    Args:
        name: row of cooling_places.csv.
        air_c: temperature of the air [°C]; replaces the top's, and the bottom's where that is air too.
        lid: whether a lid lies on the pan: still air under it comes before the surface coefficient of the top.

    Raises:
        HeatError: for an unknown place, listing the known ones.
    """
    known = places()
    if name not in known:
        raise HeatError(f'cooling place "{name}"; known are {", ".join(known)}')
    found = known[name]
    if lid and found.stirred_u is None:
        found = replace(found, top=replace(found.top, h_w_m2k=1 / (1 / found.top.h_w_m2k + 1 / UNDER_LID_H)))
    if air_c is None or found.stirred_u is not None:
        return found
    within("air temperature", air_c, -40.0, 40.0, "°C")
    same = found.bottom.start_c == found.top.start_c
    bottom = replace(found.bottom, start_c=air_c) if same else found.bottom
    return replace(found, top=replace(found.top, start_c=air_c), bottom=bottom)


@dataclass(frozen=True)
class Pan:
    """A pan of food.

    Attributes:
        depth_m: depth of the food [m].
        start_f: temperature as it goes in [°F].
        material: conductivity and diffusivity.
        base_m: length and width of the base [m]; counts when stirred.
        cools_as: which cooling rule it is held to, see `rules.cooling_rule`.
    """

    depth_m: float
    start_f: float = 135.0
    material: Material = PUREE
    base_m: tuple[float, float] = (0.508, 0.305)
    cools_as: str = "cooked"

    def __post_init__(self) -> None:
        within("depth", self.depth_m * 1000, LEAST_DEPTH_M * 1000, MOST_DEPTH_M * 1000, "mm")
        within("start temperature", self.start_f, 42.0, 212.0, "°F")


@dataclass(frozen=True)
class CoolingForecast:
    """Predicted cooling at the hottest point.

    Attributes:
        reached_s: time from the start of the clock until the hottest point is at each of the rule's limits [s]; None
            when not within 48 h.
        before_s: time from going in until the clock starts, as the first part falls to the rule's start [s]; 0 where no
            temperature starts it.
        rule: the limits.
    """

    reached_s: tuple[float | None, ...]
    before_s: float
    rule: CoolingRule

    @property
    def passes(self) -> bool:
        """Whether every limit is met."""
        return all(spare is not None and spare >= 0 for spare in self.spare_s)

    @property
    def spare_s(self) -> tuple[float | None, ...]:
        """Time left at each limit, negative when late [s]; None when never reached."""
        pairs = zip(self.rule.stages, self.reached_s, strict=True)
        return tuple(None if at is None else stage.within_s - at for stage, at in pairs)


def cool_pan(pan: Pan, where: Place) -> CoolingForecast:
    """How a pan cools: the hotter it goes in, the later it is at every limit.

    Args:
        pan: the pan.
        where: the place it cools in.
    """
    if where.stirred_u is not None:
        return cool_stirred(pan, where.stirred_u, where.top.start_c)
    body = Slab(pan.depth_m, pan.material)
    return _forecast(body, Segment(LONGEST_LOOK_S, where.top, where.bottom), pan.start_f, cooling_rule(pan.cools_as))


def cool_bag(thickness_m: float, beta: float, face: Face, start_f: float, material: Material) -> CoolingForecast:
    """How a bag cools, with the same surroundings all round.

    Args:
        thickness_m: thickness [m].
        beta: shape factor [-].
        face: surroundings; h 80 W/m2K and 0 °C for a bag in stirred ice and water.
        start_f: temperature as it goes in [°F].
        material: conductivity and diffusivity.
    """
    within("thickness", thickness_m * 1000, 1.0, 500.0, "mm")
    body = Symmetric(thickness_m / 2, beta, material)
    return _forecast(body, Segment(LONGEST_LOOK_S, face), start_f, cooling_rule())


def cool_stirred(pan: Pan, u_w_m2k: float, around_c: float) -> CoolingForecast:
    """How a stirred pan or vat cools, by Newton's law through base and wetted sides.

    Args:
        pan: the vessel; ``base_m`` and depth give its wetted area.
        u_w_m2k: overall coefficient through the wall [W/m2K].
        around_c: temperature outside [°C].
    """
    length, width = pan.base_m
    area = length * width + 2 * (length + width) * pan.depth_m
    stored = pan.material.k_w_mk / pan.material.alpha_m2s * length * width * pan.depth_m
    return lumped(stored / (u_w_m2k * area), around_c, pan.start_f, pan.cools_as)


def lumped(
    time_constant_s: float, around_c: float, start_f: float = 135.0, cools_as: str = "cooked"
) -> CoolingForecast:
    """Cooling by Newton's law.

    Args:
        time_constant_s: heat stored per kelvin over heat lost per kelvin [s].
        around_c: temperature outside [°C].
        start_f: temperature at the start [°F].
        cools_as: which cooling rule it is held to.
    """
    within("time constant", time_constant_s, 1.0, 1e7, "s")
    rule = cooling_rule(cools_as)

    def reached(target_f: float) -> float | None:
        above, left = c_from_f(start_f) - around_c, c_from_f(target_f) - around_c
        return None if left <= 0 else max(0.0, time_constant_s * math.log(above / left))

    start = 0.0 if rule.start_f is None else reached(float(rule.start_f))
    assert start is not None
    return _counted(rule, start, [reached(float(stage.temp_f)) for stage in rule.stages])


def _counted(rule: CoolingRule, start_s: float, reached_s: list[float | None]) -> CoolingForecast:
    """Moments counted from going in, as they count from the start of the rule's clock."""
    return CoolingForecast(tuple(None if at is None else max(0.0, at - start_s) for at in reached_s), start_s, rule)


def _forecast(body: Body, segment: Segment, start_f: float, rule: CoolingRule) -> CoolingForecast:
    """Times at which the hottest point passes the limits, from when the coldest falls to the rule's start."""
    import numpy as np

    positions = np.linspace(0.0, 1.0, 41)
    probes, count = body.probes(positions), 1440
    temps, _ = body.run(body.uniform(c_from_f(start_f)), segment, count, probes)
    hottest, coldest = (np.concatenate([[c_from_f(start_f)], ends]) for ends in (temps.max(axis=1), temps.min(axis=1)))
    times = segment.duration_s * np.arange(count + 1) / count
    from_f = start_f if rule.start_f is None else float(rule.start_f)
    if not (hottest <= c_from_f(from_f)).any():
        raise NotReachable(f"the food does not fall to {from_f:g} °F there")
    start = 0.0
    if start_f > from_f:
        # looked at more closely: near a cold face the fall is steep within one sample
        near = replace(segment, duration_s=float(times[(coldest <= c_from_f(from_f)).argmax()]))
        edge, _ = body.run(body.uniform(c_from_f(start_f)), near, count, probes)
        first = int((edge.min(axis=1) <= c_from_f(from_f)).argmax())
        start = near.duration_s * max(first - 1, 0) / count
    return _counted(rule, start, [_falls_to(times, hottest, float(stage.temp_f)) for stage in rule.stages])


def _falls_to(times: Array, curve: Array, target_f: float) -> float | None:
    """Moment at which a falling curve passes a temperature, straight between samples [s]."""
    target = c_from_f(target_f)
    below = curve <= target
    if not below.any():
        return None
    row = int(below.argmax())
    if row == 0:
        return 0.0
    share = (curve[row - 1] - target) / (curve[row - 1] - curve[row])
    return float(times[row - 1] + share * (times[row] - times[row - 1]))


def deepest_pan_m(pan: Pan, where: Place) -> float:
    """Deepest pan that meets every limit there [m].

    Args:
        pan: the pan; its own depth is not used.
        where: the place it cools in.

    Raises:
        NotReachable: when even the shallowest fails.
    """

    def spare(depth_m: float) -> float:
        left = cool_pan(replace(pan, depth_m=depth_m), where).spare_s
        return min(-LONGEST_LOOK_S if value is None else value for value in left)

    if spare(LEAST_DEPTH_M) < 0:
        raise NotReachable(f"no depth passes: {where.note}")
    if spare(MOST_DEPTH_M) >= 0:
        return MOST_DEPTH_M
    return bracketed_root(spare, LEAST_DEPTH_M, MOST_DEPTH_M, tolerance=1e-5)


@lru_cache(maxsize=64)
def instead(pan: Pan) -> tuple[tuple[Place, float], ...]:
    """Every place in which some depth passes, with the deepest that does [m], deepest first.

    Args:
        pan: the pan; its own depth is not used.
    """
    found = []
    for where in places().values():
        try:
            found.append((where, deepest_pan_m(pan, where)))
        except NotReachable:
            continue
    return tuple(sorted(found, key=lambda pair: -pair[1]))
