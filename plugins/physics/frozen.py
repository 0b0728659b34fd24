"""A frozen start: enthalpy until the last ice has gone, then the field is handed to the linear engine.

Finite volumes with the enthalpy as the unknown, so that the latent heat cannot be stepped over. Cells sit at their
mid-points (volume centroids would lower the order); the centre is extrapolated from the two inner cells.

Water freezes over a range: the ice at temperature T is (x - bound) (1 - Tf / T) of the water. Conductivity and
sensible heat run from unfrozen to frozen with the ice. Lean meat by default; H(0) - H(-18) = 248 kJ/kg, about what
charts of lean beef print (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from .conduction import Face, Segment
from .errors import HeatError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

LATENT_J_KG = 333.6e3
# Above this everywhere, no ice is left that matters and the linear engine takes over.
THAWED_C = -0.5
LOWEST_C = -40.0


@dataclass(frozen=True)
class FrozenFood:
    """How a food freezes.

    Attributes:
        water: mass fraction of water [-].
        bound: water that does not freeze, mass fraction of the food [-].
        freezing_c: initial freezing point [°C].
        density_kgm3: density [kg/m3].
        heat_j_kgk: heat capacity unfrozen and fully frozen [J/kgK].
        k_w_mk: conductivity unfrozen and fully frozen [W/mK].
    """

    water: float = 0.74
    bound: float = 0.08
    freezing_c: float = -1.1
    density_kgm3: float = 1050.0
    heat_j_kgk: tuple[float, float] = (3500.0, 1900.0)
    k_w_mk: tuple[float, float] = (0.48, 1.45)

    def ice_share(self, temp_c: Array) -> Array:
        """Share of the freezable water that is ice [-]."""
        import numpy as np

        below = np.minimum(temp_c, self.freezing_c)
        return np.where(temp_c < self.freezing_c, 1 - self.freezing_c / below, 0.0)


@dataclass(frozen=True, eq=False)
class Thaw:
    """A thawing run.

    Attributes:
        times_s: moments from the start [s], shape (times,).
        temps_c: temperatures [°C], shape (times, positions).
        field: temperature at any position of the last moment, as cell positions and values.
        segments_left: what is still to come after the last ice has gone; empty when ice remains.
        thawed: whether all ice has gone.
    """

    times_s: Array
    temps_c: Array
    field: tuple[Array, Array]
    segments_left: tuple[Segment, ...]
    thawed: bool


@lru_cache(maxsize=32)
def enthalpy_table(food: FrozenFood) -> tuple[Array, Array, Array]:
    """Temperature [°C], enthalpy from 0 °C [J/kg] and conductivity [W/mK], each of shape (points,)."""
    import numpy as np

    below = np.linspace(LOWEST_C, food.freezing_c - 1e-6, 4000)
    temps = np.concatenate([below, np.linspace(food.freezing_c, 130.0, 2000)])
    share = food.ice_share(temps)
    heat = food.heat_j_kgk[0] + (food.heat_j_kgk[1] - food.heat_j_kgk[0]) * share
    sensible = np.concatenate([[0.0], np.cumsum(0.5 * (heat[1:] + heat[:-1]) * np.diff(temps))])
    enthalpy = sensible - LATENT_J_KG * (food.water - food.bound) * share
    enthalpy -= np.interp(0.0, temps, enthalpy)
    return temps, enthalpy, food.k_w_mk[0] + (food.k_w_mk[1] - food.k_w_mk[0]) * share


def enthalpy_j_kg(food: FrozenFood, temp_c: float) -> float:
    """Enthalpy from 0 °C [J/kg].

    Args:
        food: how it freezes.
        temp_c: temperature [°C], -40 to 130.
    """
    import numpy as np

    temps, enthalpy, _ = enthalpy_table(food)
    return float(np.interp(temp_c, temps, enthalpy))


@dataclass(frozen=True, eq=False)
class _Cells:
    """Finite volumes from centre to surface, or from face to face."""

    food: FrozenFood
    positions: Array
    width_m: float
    volumes: Array
    areas: Array
    full: bool
    boiling_c: float

    def rate(self, enthalpy: Array, low: Face, high: Face, share: float) -> Array:
        """Change of enthalpy [J/kgs] at a share [-] of a segment."""
        import numpy as np

        temps, stored, conductivities = enthalpy_table(self.food)
        temp = np.interp(enthalpy, stored, temps)
        k = np.interp(enthalpy, stored, conductivities)
        between = 2 * k[1:] * k[:-1] / (k[1:] + k[:-1])
        flow = between * self.areas[1:-1] * np.diff(temp) / self.width_m
        gain = np.zeros_like(temp)
        gain[:-1] += flow
        gain[1:] -= flow
        gain[-1] += self.areas[-1] * self._inflow(high, share, float(temp[-1]), float(k[-1]))
        if self.full:
            gain[0] += self.areas[0] * self._inflow(low, share, float(temp[0]), float(k[0]))
        return gain / (self.food.density_kgm3 * self.volumes)

    def _inflow(self, face: Face, share: float, temp_c: float, k_w_mk: float) -> float:
        if not face.h_w_m2k:
            return 0.0
        around = face.start_c + share * (face.last_c - face.start_c)
        inner = 2 * k_w_mk / self.width_m
        surface = (face.h_w_m2k * around + inner * temp_c) / (face.h_w_m2k + inner)
        return inner * (min(surface, self.boiling_c) - temp_c)

    def read(self, enthalpy: Array, positions: Array) -> Array:
        """Temperatures [°C] at positions [-], shape (times, positions)."""
        import numpy as np

        temps, stored, _ = enthalpy_table(self.food)
        cells = np.interp(enthalpy, stored, temps)
        return np.stack([np.interp(positions, *self.with_ends(row)) for row in np.atleast_2d(cells)])

    def with_ends(self, cells: Array) -> tuple[Array, Array]:
        """Cell positions and values with both ends added."""
        import numpy as np

        x = self.positions
        first = cells[0] + (cells[0] - cells[1]) / 2
        if not self.full:
            first = (x[1] ** 2 * cells[0] - x[0] ** 2 * cells[1]) / (x[1] ** 2 - x[0] ** 2)
        last = cells[-1] + (cells[-1] - cells[-2]) / 2
        return np.concatenate([[0.0], x, [1.0]]), np.concatenate([[first], cells, [last]])


def _cells(food: FrozenFood, size_m: float, beta: float | None, boiling_c: float) -> _Cells:
    import numpy as np

    count = 24 if beta is None else 12
    edges = np.linspace(0.0, size_m, count + 1)
    power = beta or 0.0
    volumes = (edges[1:] ** (power + 1) - edges[:-1] ** (power + 1)) / (power + 1)
    areas = edges**power if power else np.ones_like(edges)
    middles = 0.5 * (edges[1:] + edges[:-1]) / size_m
    return _Cells(food, middles, size_m / count, volumes, areas, beta is None, boiling_c)


@dataclass(frozen=True)
class Thawing:
    """A frozen piece and where its temperature is wanted.

    Attributes:
        food: how it freezes.
        size_m: half-thickness, or whole thickness when ``beta`` is None [m].
        beta: shape factor [-]; None for a slab whose faces may differ.
        start_c: temperature at the start [°C].
        boiling_c: temperature at which a wet face is held [°C].
    """

    food: FrozenFood
    size_m: float
    beta: float | None
    start_c: float
    boiling_c: float = 100.0


def thaw(piece: Thawing, segments: tuple[Segment, ...], step_s: float, positions: Array) -> Thaw:
    """Temperatures through the segments until the last ice has gone.

    Args:
        piece: the frozen piece.
        segments: surroundings.
        step_s: time between samples [s].
        positions: where to read [-], as for the linear body that takes over.

    Raises:
        HeatError: below -40 °C.
    """
    import numpy as np

    if piece.start_c < LOWEST_C:
        raise HeatError(f"frozen start is {piece.start_c:g} °C; allowed is {LOWEST_C:g} °C and above")
    cells = _cells(piece.food, piece.size_m, piece.beta, piece.boiling_c)
    state = np.full(len(cells.positions), enthalpy_j_kg(piece.food, piece.start_c))
    limit = enthalpy_j_kg(piece.food, THAWED_C)
    times, rows, passed = [np.zeros(1)], [np.full((1, len(positions)), piece.start_c)], 0.0
    for index, segment in enumerate(segments):
        moments, states, gone = _march(cells, state, segment, step_s, limit)
        times.append(passed + moments)
        rows.append(cells.read(states, positions))
        state = states[-1]
        if gone:
            left = (segment.cut(float(moments[-1]))[1], *segments[index + 1 :])
            return _result(cells, state, times, rows, left, True)
        passed += segment.duration_s
    return _result(cells, state, times, rows, (), False)


def _result(
    cells: _Cells, state: Array, times: list[Array], rows: list[Array], left: tuple[Segment, ...], thawed: bool
) -> Thaw:
    import numpy as np

    temps, stored, _ = enthalpy_table(cells.food)
    field = cells.with_ends(np.interp(state, stored, temps))
    return Thaw(np.concatenate(times), np.concatenate(rows), field, left, thawed)


def _march(cells: _Cells, state: Array, segment: Segment, step_s: float, limit: float) -> tuple[Array, Array, bool]:
    """Moments [s] and states of one segment, and whether it ended early because the ice has gone."""
    import numpy as np
    from scipy.integrate import solve_ivp

    if segment.duration_s == 0:
        return np.zeros(1), state[None, :], False
    low, high, length = segment.low or segment.high, segment.high, segment.duration_s

    def rate(at_s: float, enthalpy: Array) -> Array:
        return cells.rate(enthalpy, low, high, at_s / length)

    def ice_left(_: float, enthalpy: Array) -> float:
        return float(enthalpy.min()) - limit

    ice_left.terminal = True  # type: ignore[attr-defined]
    count = max(1, round(length / step_s))
    options: dict[str, Any] = {"method": "LSODA", "lband": 1, "uband": 1, "rtol": 1e-4, "atol": 100.0}
    wanted = length * np.arange(1, count + 1) / count
    found = solve_ivp(rate, (0.0, length), state, t_eval=wanted, events=ice_left, **options)
    if not found.success:
        raise HeatError(f"the frozen start could not be solved: {found.message}")
    moments, gone = np.asarray(found.t), len(found.t_events[0]) > 0
    # the last ice may go before the first moment asked for: then scipy gives no states, and as a list
    states = found.y.T if len(moments) else np.empty((0, len(state)))
    if gone:
        moments = np.append(moments, found.t_events[0][0])
        states = np.vstack([states, found.y_events[0][0]])
    return moments, states, gone
