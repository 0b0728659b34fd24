"""Heat properties from composition: component polynomials of Choi and Okos (1986) and their mixing rules."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from functools import lru_cache

from .conduction import Material
from .errors import OutOfRange, within
from .reference import rows

_NAMES = {"carbohydrate": "cho"}
# The original paper's constant, nearer to water than the refrigeration handbook's 4.1289.
_WATER_HEAT = "co_cp_water_alt"


@dataclass(frozen=True)
class Composition:
    """Mass fractions [-]; they add up to 1."""

    water: float
    protein: float = 0.0
    fat: float = 0.0
    carbohydrate: float = 0.0
    fibre: float = 0.0
    ash: float = 0.0

    def __post_init__(self) -> None:
        for field in fields(self):
            within(field.name, getattr(self, field.name), 0.0, 1.0, "[-]")
        total = math.fsum(getattr(self, field.name) for field in fields(self))
        if abs(total - 1) > 0.02:
            raise OutOfRange(f"mass fractions add up to {total:.3f}; allowed is 0.98 to 1.02")

    @property
    def parts(self) -> dict[str, float]:
        """Mass fraction of each component that is there [-], adding up to 1 exactly."""
        found = {field.name: getattr(self, field.name) for field in fields(self)}
        total = math.fsum(found.values())
        return {name: share / total for name, share in found.items() if share}


@dataclass(frozen=True)
class HeatProperties:
    """Density [kg/m3], conductivity [W/mK] and heat capacity [J/kgK] of an unfrozen food."""

    density_kgm3: float
    k_w_mk: float
    heat_j_kgk: float

    @property
    def material(self) -> Material:
        """Conductivity and diffusivity for the engine."""
        return Material(self.k_w_mk, self.k_w_mk / (self.density_kgm3 * self.heat_j_kgk))


@lru_cache(maxsize=1)
def _polynomials() -> dict[str, tuple[float, float, float]]:
    return {
        row["id"]: (float(row["a0"]), float(row["a1"]), float(row["a2"]))
        for row in rows("thermal_properties.csv")
        if row["id"].startswith("co_") and row["a0"]
    }


def _component(quantity: str, name: str, temp_c: float, water_heat: str) -> float:
    key = f"co_{quantity}_{_NAMES.get(name, name)}"
    a0, a1, a2 = _polynomials()[water_heat if key == "co_cp_water" else key]
    return a0 + temp_c * (a1 + temp_c * a2)


def heat_properties(composition: Composition, temp_c: float = 40.0, *, water_heat: str = _WATER_HEAT) -> HeatProperties:
    """Density, conductivity and heat capacity from composition.

    Args:
        composition: mass fractions.
        temp_c: temperature [°C], 0 to 150.
        water_heat: row of the water constant; "co_cp_water" for the refrigeration handbook's.

    Source: Choi and Okos 1986; conductivities mix by volume, heat capacities by mass.
    """
    within("temperature", temp_c, 0.0, 150.0, "°C")
    parts = composition.parts
    volumes = {name: share / _component("rho", name, temp_c, water_heat) for name, share in parts.items()}
    volume = math.fsum(volumes.values())
    k = math.fsum(part / volume * _component("k", name, temp_c, water_heat) for name, part in volumes.items())
    heat = math.fsum(share * _component("cp", name, temp_c, water_heat) for name, share in parts.items())
    return HeatProperties(1 / volume, k, 1000 * heat)


def freezing_point_c(water: float) -> float:
    """Initial freezing point of meat [°C].

    Args:
        water: mass fraction of water [-], 0.3 to 0.9.
    """
    within("water", water, 0.3, 0.9, "[-]")
    row = next(row for row in rows("thermal_properties.csv") if row["id"] == "tf_meat")
    return float(row["a0"]) + float(row["a1"]) * water - 273.15


def from_water(water_pct: float) -> tuple[float, float]:
    """Heat capacity [J/kgK] and conductivity [W/mK] above freezing from the water content alone.

    Args:
        water_pct: water [%], 10 to 100.

    Source: Earle, Unit Operations in Food Processing, appendix 7.
    """
    within("water", water_pct, 10.0, 100.0, "%")
    found = {row["id"]: row for row in rows("thermal_properties.csv")}
    heat, k = (
        float(found[key]["a0"]) + float(found[key]["a1"]) * water_pct for key in ("rule_cp_water", "rule_k_water")
    )
    return heat, k
