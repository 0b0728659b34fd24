"""Polynomial bases in space and their eigenvalues: the time-independent half of the engine.

A body of half-thickness R obeys T_t = alpha (T_rr + beta/r T_r), k T_r(R) = h (T_env - T(R)). In x = r/R the field is
expanded in polynomials that are orthonormal under the weight x^beta: even Jacobi polynomials for a body heated
alike on both sides, Legendre polynomials for a slab whose two faces differ. The remaining problem is a small
symmetric matrix whose eigenvalues are decay rates in units of alpha/R^2.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING

from .errors import within

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

# h to infinity is represented by this Biot number: at 1e9 the eigenproblem loses four digits.
LARGEST_BIOT = 1e6


@dataclass(frozen=True, eq=False)
class Basis:
    """One direction of space.

    Attributes:
        beta: shape factor [-]; 0 for a full-thickness slab.
        full: True when the basis spans both faces, False for centre to surface.
        stiffness: integrals of products of derivatives, shape (n, n).
        low: values at the lower face (full) or at the centre, shape (n,).
        high: values at the upper face, shape (n,).
        one: coefficients of the constant 1, shape (n,).
        nodes: quadrature positions, x = r/R or share of the thickness [-], shape (n + 1,).
        weights: quadrature weights, shape (n + 1,).
        values: polynomials at the nodes, shape (n, n + 1).
    """

    beta: float
    full: bool
    stiffness: Array
    low: Array
    high: Array
    one: Array
    nodes: Array
    weights: Array
    values: Array

    @cached_property
    def ramp(self) -> Array:
        """Coefficients of the position itself, shape (n,)."""
        return self.fit(self.nodes)

    @property
    def size(self) -> int:
        """Number of polynomials [-]."""
        return len(self.one)

    def at(self, positions: Array) -> Array:
        """Polynomial values at positions [-], shape (positions, n).

        Args:
            positions: x = r/R, or share of the thickness for a full basis [-], 0 to 1.
        """
        import numpy as np

        return _values_at(self, np.asarray(positions, float).tobytes())

    def fit(self, field: Array) -> Array:
        """Coefficients of a field given at the nodes, shape (n,).

        Args:
            field: values at ``nodes`` [°C], shape (n + 1,).
        """
        return self.values @ (self.weights * field)


@lru_cache(maxsize=256)
def _values_at(basis: Basis, packed: bytes) -> Array:
    """Values at the positions packed as bytes; asked for again and again at the same few positions."""
    import numpy as np

    positions = np.frombuffer(packed)
    y = 2 * positions - 1 if basis.full else 2 * positions * positions - 1
    exponent = 0.0 if basis.full else (basis.beta - 1) / 2
    values = _polynomials(y, exponent, basis.size, float(basis.weights.sum()))[0].T
    values.setflags(write=False)
    return values


def _recurrence(exponent: float, count: int) -> tuple[Array, Array]:
    """Three-term coefficients of the Jacobi polynomials with weight (1 + y)^exponent on (-1, 1)."""
    import numpy as np

    b, k = exponent, np.arange(1, count, dtype=float)
    diagonal = np.empty(count)
    diagonal[0] = b / (b + 2)
    diagonal[1:] = b * b / ((2 * k + b) * (2 * k + b + 2))
    square = 4 * k * k * (k + b) ** 2 / ((2 * k + b) ** 2 * (2 * k + b + 1) * (2 * k + b - 1))
    return diagonal, np.sqrt(square)


def _polynomials(y: Array, exponent: float, count: int, mass: float) -> tuple[Array, Array]:
    """Orthonormal polynomials and their derivatives at y, each of shape (count, points)."""
    import numpy as np

    diagonal, off = _recurrence(exponent, count + 1)
    value, slope = np.zeros((count, len(y))), np.zeros((count, len(y)))
    value[0] = 1 / np.sqrt(mass)
    for k in range(count - 1):
        previous = off[k - 1] if k else 0.0
        value[k + 1] = ((y - diagonal[k]) * value[k] - previous * value[k - 1]) / off[k]
        slope[k + 1] = (value[k] + (y - diagonal[k]) * slope[k] - previous * slope[k - 1]) / off[k]
    return value, slope


def _gauss(exponent: float, count: int, mass: float) -> tuple[Array, Array]:
    """Gauss points on (-1, 1) and weights that sum to mass (Golub and Welsch 1969)."""
    import numpy as np

    diagonal, off = _recurrence(exponent, count)
    nodes, vectors = np.linalg.eigh(np.diag(diagonal) + np.diag(off, 1) + np.diag(off, -1))
    return nodes, mass * vectors[0] ** 2


@lru_cache(maxsize=128)
def even_basis(beta: float, size: int) -> Basis:
    """Basis of a body heated alike all round.

    Args:
        beta: shape factor [-], 0 slab, 1 long cylinder, 2 sphere, 0 to 10.
        size: number of polynomials [-], 4 to 48.
    """
    import numpy as np

    within("shape factor", beta, 0.0, 10.0, "[-]")
    exponent, mass = (beta - 1) / 2, 1 / (beta + 1)
    y, weights = _gauss(exponent, size + 1, mass)
    values, slopes = _polynomials(y, exponent, size, mass)
    x = np.sqrt((y + 1) / 2)
    gradient = slopes * (4 * x)
    ends, _ = _polynomials(np.array([-1.0, 1.0]), exponent, size, mass)
    stiffness = (gradient * weights) @ gradient.T
    return Basis(beta, False, stiffness, ends[:, 0], ends[:, 1], values @ weights, x, weights, values)


@lru_cache(maxsize=16)
def full_basis(size: int) -> Basis:
    """Basis of a slab whose two faces may differ.

    Args:
        size: number of polynomials [-], 4 to 64.
    """
    import numpy as np

    y, weights = _gauss(0.0, size + 1, 2.0)
    values, slopes = _polynomials(y, 0.0, size, 2.0)
    ends, _ = _polynomials(np.array([-1.0, 1.0]), 0.0, size, 2.0)
    stiffness = (slopes * weights) @ slopes.T
    return Basis(0.0, True, stiffness, ends[:, 0], ends[:, 1], values @ weights, (y + 1) / 2, weights, values)


def biot(h_w_m2k: float, half_m: float, k_w_mk: float) -> float:
    """Biot number with the half-thickness [-], rounded to ten digits so that it can be a key.

    Args:
        h_w_m2k: surface coefficient [W/m2K]; infinity is a fixed surface temperature.
        half_m: half of the thickness, or the radius [m].
        k_w_mk: conductivity [W/mK].
    """
    return float(f"{min(h_w_m2k * half_m / k_w_mk, LARGEST_BIOT):.9e}")


@lru_cache(maxsize=512)
def modes(basis: Basis, low_biot: float, high_biot: float) -> tuple[Array, Array]:
    """Decay rates in units of alpha/R^2 and their vectors, shapes (n,) and (n, n).

    Args:
        basis: the direction.
        low_biot: Biot number of the lower face [-]; ignored unless the basis is full.
        high_biot: Biot number of the upper face [-].
    """
    import numpy as np

    matrix = basis.stiffness + high_biot * np.outer(basis.high, basis.high)
    if basis.full:
        matrix = matrix + low_biot * np.outer(basis.low, basis.low)
    rates, vectors = np.linalg.eigh(matrix)
    return np.maximum(rates, 0.0), vectors
