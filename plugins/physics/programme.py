"""A piece, the steps it goes through, and what is predicted for it.

The surroundings of each kind of step stand in surroundings.csv with a cautious (slow), a likely and a fast surface
coefficient. Apart from the water bath they are estimates, to be replaced by what the house's own probe log shows
(``learning``); a step may state its own.
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass, replace
from functools import lru_cache
from importlib.resources import files
from typing import Literal

from stillroom.db.pieces import FREEZING_C, THICKEST_MM, THINNEST_MM

from .conduction import LONGEST_S, TYPICAL, Material
from .errors import HeatError, within
from .lethality import LogReduction

End = Literal["slow", "likely", "fast"]
Shape = Literal["slab", "factor", "long_cylinder", "sphere", "rod", "brick", "finite_cylinder"]

SHAPES: tuple[Shape, ...] = ("slab", "factor", "long_cylinder", "sphere", "rod", "brick", "finite_cylinder")
THINNEST_M, THICKEST_M = THINNEST_MM / 1000, THICKEST_MM / 1000
# Diffusivities at the two ends of the planning range. Source: spread of measured meat, sous vide guide's table.
SLOW_ALPHA, FAST_ALPHA = 1.11e-7, 1.40e-7


@dataclass(frozen=True)
class Piece:
    """One piece of food.

    Attributes:
        thickness_m: thickness, or diameter of a round piece [m].
        shape: slab (wide), factor (``beta``), long_cylinder, sphere, rod (``width_m``), brick (``width_m``,
            ``length_m``), finite_cylinder (``length_m``).
        start_c: temperature at the start [°C]; below -1.1 it is frozen.
        width_m: width [m].
        length_m: length [m].
        beta: shape factor [-]; with "factor" only.
        material: likely conductivity and diffusivity.
        food: set of heat-resistance records (meat, poultry, fish_lean ...); None for plants.
    """

    thickness_m: float
    shape: Shape = "slab"
    start_c: float = 5.0
    width_m: float | None = None
    length_m: float | None = None
    beta: float | None = None
    material: Material = TYPICAL
    food: str | None = "meat"

    def __post_init__(self) -> None:
        if self.shape not in SHAPES:
            raise HeatError(f'shape "{self.shape}"; known are {", ".join(SHAPES)}')
        within("thickness", self.thickness_m * 1000, THINNEST_M * 1000, THICKEST_M * 1000, "mm")
        within("start temperature", self.start_c, -40.0, 100.0, "°C")
        for name, needed in (("width_m", ("rod", "brick")), ("length_m", ("brick", "finite_cylinder"))):
            value = getattr(self, name)
            if (self.shape in needed) != (value is not None):
                raise HeatError(f"{name} belongs to {' and '.join(needed)}; the shape is {self.shape}")
            if value is not None:
                within(name, value * 1000, THINNEST_M * 1000, 2000.0, "mm")
        if (self.shape == "factor") != (self.beta is not None):
            raise HeatError(f"beta belongs to the shape factor; the shape is {self.shape}")

    @property
    def frozen(self) -> bool:
        """Whether it starts frozen."""
        return self.start_c < FREEZING_C

    @property
    def shape_factor(self) -> float:
        """Shape factor [-] that stands in where all round heat is needed on one number; 0 for a box's thickness."""
        return {"long_cylinder": 1.0, "sphere": 2.0, "factor": self.beta or 0.0}.get(self.shape, 0.0)

    def material_at(self, end: End) -> Material:
        """Conductivity and diffusivity at one end of the planning range."""
        likely = self.material
        alpha = {
            "slow": min(SLOW_ALPHA, likely.alpha_m2s),
            "likely": likely.alpha_m2s,
            "fast": max(FAST_ALPHA, likely.alpha_m2s),
        }[end]
        return Material(likely.k_w_mk, alpha)


@dataclass(frozen=True)
class Surroundings:
    """What a kind of step does to the surface; one row of surroundings.csv."""

    kind: str
    one_sided: bool
    h_slow: float
    h_likely: float
    h_fast: float
    other_h: float
    other_c: float
    heats: bool
    temp_low_c: float
    temp_high_c: float
    basis: str
    note: str

    def h_at(self, end: End) -> float:
        """Surface coefficient at one end of the planning range [W/m2K]."""
        return {"slow": self.h_slow, "likely": self.h_likely, "fast": self.h_fast}[end]


@lru_cache(maxsize=1)
def surroundings() -> dict[str, Surroundings]:
    """Every kind of step, by name."""
    text = (files("stillroom.plugins.physics") / "surroundings.csv").read_text(encoding="utf-8")
    return {row["kind"]: _surroundings(row) for row in csv.DictReader(io.StringIO(text))}


def _surroundings(row: dict[str, str]) -> Surroundings:
    number = {key: float(row[key] or 0) for key in row if key[:2] == "h_" or key[:4] in ("othe", "temp")}
    return Surroundings(
        kind=row["kind"],
        one_sided=row["sides"] == "one",
        heats=row["heats"] == "yes",
        basis=row["basis"],
        note=row["note"],
        **number,
    )


@dataclass(frozen=True)
class Step:
    """One step of a programme.

    Attributes:
        kind: bath, oven_dry, oven_humid, grill, pan, hot_zone, cool_zone, hang, rest, ice, chiller or blast.
        duration_s: length [s], at most seven days.
        temp_c: temperature of the surroundings, of the hot face where heat comes from one side [°C].
        end_c: temperature at the end, if it runs up or down [°C].
        flip_every_s: turn at this interval [s]; one-sided heat only.
        h_w_m2k: the house's own surface coefficient [W/m2K]; takes the place of all three ends.
        other_c: temperature at the face away from the heat [°C].
        other_h_w_m2k: surface coefficient there [W/m2K].
        label: what the kitchen calls it.
    """

    kind: str
    duration_s: float
    temp_c: float
    end_c: float | None = None
    flip_every_s: float | None = None
    h_w_m2k: float | None = None
    other_c: float | None = None
    other_h_w_m2k: float | None = None
    label: str = ""

    def __post_init__(self) -> None:
        known = surroundings()
        if self.kind not in known:
            raise HeatError(f'step "{self.kind}"; known are {", ".join(known)}')
        within(f"length of the {self.kind}", self.duration_s, 0.0, LONGEST_S, "s")
        self._check_temperatures(known[self.kind])
        if self.flip_every_s is not None:
            if not known[self.kind].one_sided:
                raise HeatError(f"{self.kind} heats from all sides; there is nothing to flip")
            within("time between flips", self.flip_every_s, 5.0, LONGEST_S, "s")

    def _check_temperatures(self, row: Surroundings) -> None:
        for value in (self.temp_c, self.temp_c if self.end_c is None else self.end_c):
            try:
                within(f"temperature of the {self.kind}", value, row.temp_low_c, row.temp_high_c, "°C")
            except HeatError as error:
                in_c = (value - 32) / 1.8
                typed_f = row.temp_low_c <= in_c <= row.temp_high_c
                hint = f"; if {value:g} °F was meant, that is {in_c:.1f} °C" if typed_f else ""
                raise HeatError(f"{error}{hint}") from None

    def lasting(self, duration_s: float) -> Step:
        """The same step over another time; one that runs up or down keeps its speed and stops where it then is.

        Args:
            duration_s: length [s], at most its own where it runs up or down.
        """
        if self.end_c is None or not self.duration_s:
            return replace(self, duration_s=duration_s)
        share = min(duration_s / self.duration_s, 1.0)
        return replace(self, duration_s=duration_s, end_c=self.temp_c + share * (self.end_c - self.temp_c))

    @property
    def around(self) -> Surroundings:
        """The row of surroundings.csv."""
        return surroundings()[self.kind]


@dataclass(frozen=True)
class StepResult:
    """Where the piece stands at the end of a step.

    Attributes:
        step: the step.
        start_s: when it began [s].
        end_s: when it ended [s].
        core_c: likely core [°C].
        slow_core_c: core at the slow end [°C].
        fast_core_c: core at the fast end [°C].
        surface_c: likely surface [°C].
        slow_coldest_c: coldest position at the slow end [°C].
    """

    step: Step
    start_s: float
    end_s: float
    core_c: float
    slow_core_c: float
    fast_core_c: float
    surface_c: float
    slow_coldest_c: float


@dataclass(frozen=True)
class Prediction:
    """The piece through the whole programme. All curves are °C at ``times_s`` [s].

    Attributes:
        times_s: moments from the start [s].
        core_c: likely core.
        surface_c: likely mean of the two faces.
        coldest_c: likely coldest position of the moment.
        slow_core_c: core at the slow end.
        fast_core_c: core at the fast end.
        slow_coldest_c: coldest position at the slow end; decisions are taken on this one.
        slow_hottest_c: hottest position at the slow end; cooling is judged on this one.
        steps: state at the end of each step.
        reductions: log reductions at the weakest position of the slow end, per organism.
        growth_s: longest time any position spends between 41 and 130 °F, slow end [s].
        peak_core_c: highest likely core, with the slow and the fast one.
        peak_at_s: when the likely core peaks [s].
        notes: what the geometry leaves out.
    """

    times_s: tuple[float, ...]
    core_c: tuple[float, ...]
    surface_c: tuple[float, ...]
    coldest_c: tuple[float, ...]
    slow_core_c: tuple[float, ...]
    fast_core_c: tuple[float, ...]
    slow_coldest_c: tuple[float, ...]
    slow_hottest_c: tuple[float, ...]
    steps: tuple[StepResult, ...]
    reductions: tuple[LogReduction, ...]
    growth_s: float
    peak_core_c: tuple[float, float, float]
    peak_at_s: float
    notes: tuple[str, ...]
