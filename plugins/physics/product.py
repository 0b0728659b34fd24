"""Bricks, bars and short cylinders: several directions at once, exact through a whole programme.

With the same surroundings on all faces the operator is a sum of one-direction operators, so the coefficients of the
tensor product of their eigenvectors decay each by the sum of three rates. h may differ by direction. A change of the
surroundings only changes what the field relaxes to; the field itself is carried over whole, which the plain product
rule for one bath cannot do.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import reduce
from typing import TYPE_CHECKING

from .basis import Basis, biot, even_basis, modes
from .conduction import TYPICAL, Material, Segment
from .errors import HeatError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

BLOCK = 128


@dataclass(frozen=True)
class Product:
    """A body that is the product of two or three directions.

    Attributes:
        halves_m: half-length of each direction, or radius [m]; the thinnest first.
        betas: 0 for a straight direction, 1 for a round one [-].
        material: conductivity and diffusivity.
        size: number of polynomials in each direction [-].
        h_shares: h of each direction over the h of the segment [-].
    """

    halves_m: tuple[float, ...]
    betas: tuple[float, ...]
    material: Material = TYPICAL
    size: int = 12
    h_shares: tuple[float, ...] = (1.0, 1.0, 1.0)

    @property
    def bases(self) -> tuple[Basis, ...]:
        """Space basis of each direction."""
        return tuple(even_basis(beta, self.size) for beta in self.betas)

    @property
    def ones(self) -> Array:
        """Coefficients of the constant 1, one axis per direction."""
        import numpy as np

        return reduce(np.multiply.outer, [basis.one for basis in self.bases])

    def uniform(self, temp_c: float) -> Array:
        """State of a body at one temperature [°C]."""
        return temp_c * self.ones

    def probes(self, positions: Array) -> Array:
        """Weights at points, shape (points, directions, n).

        Args:
            positions: x = r/R in each direction [-], shape (points, directions).
        """
        import numpy as np

        columns = [basis.at(positions[:, axis]) for axis, basis in enumerate(self.bases)]
        return np.stack(columns, axis=1)

    def mean_probe(self) -> Array:
        """Weights of the mean over the volume, shape (1, directions, n)."""
        import numpy as np

        return np.stack([(basis.beta + 1) * basis.one for basis in self.bases])[None]

    def run(self, state: Array, segment: Segment, count: int, probes: Array) -> tuple[Array, Array]:
        """Temperatures [°C], shape (count, points), and the state at the end."""
        import numpy as np

        face = segment.high
        if segment.low is not None and segment.low != face:
            raise HeatError("a brick or bar has the same surroundings all round; use a slab")
        first, last = (face.start_c, face.last_c) if face.h_w_m2k else (0.0, 0.0)
        if segment.duration_s == 0:
            return np.tile(_read(state, probes), (count, 1)), state
        rates, vectors = self._modes(face.h_w_m2k)
        total = reduce(np.add.outer, rates)
        ones = _turn(self.ones, [matrix.T for matrix in vectors])
        lag = np.divide(-(last - first) / segment.duration_s * ones, total, out=np.zeros_like(total), where=total > 0)
        rest = _turn(state, [matrix.T for matrix in vectors]) - first * ones - lag
        readers = [matrix.T @ probes[:, axis].T for axis, matrix in enumerate(vectors)]
        share = np.arange(1, count + 1) / count
        temps = _histories(rest, rates, readers, share * segment.duration_s)
        temps += _read(lag, np.stack(readers, axis=0).transpose(2, 0, 1))[None]
        temps += (first + (last - first) * share)[:, None]
        end = _turn(rest * np.exp(-total * segment.duration_s) + lag, list(vectors)) + last * self.ones
        return temps, end

    def _modes(self, h_w_m2k: float) -> tuple[list[Array], list[Array]]:
        rates, vectors = [], []
        for half, basis, share in zip(self.halves_m, self.bases, self.h_shares, strict=False):
            rate, vector = modes(basis, 0.0, biot(h_w_m2k * share, half, self.material.k_w_mk))
            rates.append(rate * self.material.alpha_m2s / half**2)
            vectors.append(vector)
        return rates, vectors


def _turn(tensor: Array, matrices: list[Array]) -> Array:
    """The tensor with one matrix applied along each axis."""
    import numpy as np

    for axis, matrix in enumerate(matrices):
        tensor = np.moveaxis(np.tensordot(matrix, tensor, axes=(1, axis)), 0, axis)
    return tensor


def _read(tensor: Array, probes: Array) -> Array:
    """Values of a tensor at points, shape (points,)."""
    import numpy as np

    values = np.broadcast_to(tensor, (len(probes), *tensor.shape))
    for axis in range(tensor.ndim):
        values = np.einsum("pi...,pi->p...", values, probes[:, axis])
    return values


def _histories(rest: Array, rates: list[Array], readers: list[Array], times_s: Array) -> Array:
    """What is left of the decaying part at the points, shape (times, points)."""
    import numpy as np

    # short blocks stay below the size at which BLAS starts threads, which here cost ten times the sums
    return np.concatenate([_block(rest, rates, readers, times_s[i : i + BLOCK]) for i in range(0, len(times_s), BLOCK)])


def _block(rest: Array, rates: list[Array], readers: list[Array], times_s: Array) -> Array:
    import numpy as np

    tables = [np.exp(-np.outer(times_s, rate)) for rate in rates]
    columns = []
    for point in range(readers[0].shape[1]):
        weighted = [table * reader[:, point] for table, reader in zip(tables, readers, strict=True)]
        value = np.tensordot(weighted[0], rest, axes=(1, 0))
        for table in weighted[1:]:
            value = np.einsum("ti...,ti->t...", value, table)
        columns.append(value)
    return np.stack(columns, axis=1)
