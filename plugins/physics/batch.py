"""Many portions at once through the same steps: a thousand cores in one go."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from .basis import biot, even_basis
from .conduction import Face
from .errors import HeatError
from .programme import End, Piece, Step
from .simulate import step_faces

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

SIZE = 12


def batch_core(
    pieces: tuple[Piece, ...], steps: tuple[Step, ...], step_s: float, end: End = "slow"
) -> tuple[Array, Array]:
    """Core temperatures of many pieces heated alike all round.

    Args:
        pieces: slabs, long cylinders, spheres or shape factors, unfrozen.
        steps: steps with the same surroundings on all faces, below the boiling point.
        step_s: time between samples [s].
        end: which end of the planning range.

    Returns:
        Moments [s], shape (times,), and core temperatures [°C], shape (pieces, times).

    Raises:
        HeatError: for a piece or step that needs its own run.
    """
    import numpy as np

    if not pieces or not steps:
        raise HeatError("a batch needs pieces and steps")
    _check(pieces, steps)
    bases = [even_basis(piece.shape_factor, SIZE) for piece in pieces]
    stiffness = np.stack([basis.stiffness for basis in bases])
    surface, centre, ones = (np.stack([getattr(basis, name) for basis in bases]) for name in ("high", "low", "one"))
    state = ones * np.array([piece.start_c for piece in pieces])[:, None]
    outer = surface[:, :, None] * surface[:, None, :]
    known: dict[float, tuple[Array, Array]] = {}
    times, cores, passed = [np.zeros(1)], [np.array([[piece.start_c] for piece in pieces])], 0.0
    for step in steps:
        face = step_faces(step, end)[0]
        if face.h_w_m2k not in known:
            numbers, scale = _numbers(pieces, face, end)
            rates, vectors = np.linalg.eigh(stiffness + numbers[:, None, None] * outer)
            known[face.h_w_m2k] = (np.maximum(rates, 1e-14) * scale[:, None], vectors)
        temps, state = _advance((state, ones, centre), known[face.h_w_m2k], face, (step.duration_s, step_s))
        times.append(passed + step.duration_s * np.arange(1, temps.shape[1] + 1) / temps.shape[1])
        cores.append(temps)
        passed += step.duration_s
    return np.concatenate(times), np.concatenate(cores, axis=1)


def _check(pieces: tuple[Piece, ...], steps: tuple[Step, ...]) -> None:
    for piece in pieces:
        if piece.frozen or piece.shape in ("rod", "brick", "finite_cylinder"):
            raise HeatError(f"a batch takes unfrozen pieces on one shape factor, not a {piece.shape}; predict it alone")
    for step in steps:
        if step.around.one_sided or max(step.temp_c, step.end_c or step.temp_c) > 100:
            raise HeatError(f"a batch takes steps alike on all faces up to 100 °C, not {step.kind}")


def _numbers(pieces: tuple[Piece, ...], face: Face, end: End) -> tuple[Array, Array]:
    """Biot number and rate scale of each piece."""
    import numpy as np

    halves = np.array([piece.thickness_m / 2 for piece in pieces])
    materials = [piece.material_at(end) for piece in pieces]
    numbers = [biot(face.h_w_m2k, half, made.k_w_mk) for half, made in zip(halves, materials, strict=True)]
    return np.array(numbers), np.array([made.alpha_m2s for made in materials]) / halves**2


def _advance(
    field: tuple[Array, Array, Array], decay: tuple[Array, Array], face: Face, length: tuple[float, float]
) -> tuple[Array, Array]:
    """Core temperatures [°C], shape (pieces, samples), and the state at the end of a step."""
    import numpy as np

    (state, ones, centre), (rates, vectors), (duration_s, step_s) = field, decay, length
    count = max(1, round(duration_s / step_s))
    slope = (face.last_c - face.start_c) / duration_s if duration_s else 0.0
    turned, unit, read = (
        np.einsum("pij,pi->pj", vectors, part) for part in (state - face.start_c * ones, ones, centre)
    )
    lag = -slope * unit / rates
    rest = turned - lag
    fine = max(1, math.isqrt(count))
    coarse, gap = -(-count // fine), duration_s / count
    slow = np.exp(-rates[:, None, :] * (fine * gap * np.arange(coarse))[:, None]) * (rest * read)[:, None, :]
    fast = np.exp(-rates[:, None, :] * (gap * np.arange(1, fine + 1))[:, None])
    temps = (slow @ fast.transpose(0, 2, 1)).reshape(len(rates), coarse * fine)[:, :count]
    line = face.start_c + slope * gap * np.arange(1, count + 1)
    temps = temps + line + (lag * read).sum(axis=1)[:, None]
    end = np.exp(-rates * duration_s) * rest + lag
    return temps, np.einsum("pij,pj->pi", vectors, end) + face.last_c * ones
