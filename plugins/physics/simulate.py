"""One run of a piece through its steps at one end of the planning range: every position's own history."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from .capping import run_capped
from .conduction import LONGEST_S, Body, Face, Segment, Slab, Symmetric
from .errors import HeatError
from .frozen import FrozenFood, Thawing, thaw
from .product import Product
from .programme import End, Piece, Step

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

MOST_STEPS = 200
MOST_FLIPS = 500
FINE_S, COARSE_S = 5.0, 30.0


@dataclass(frozen=True, eq=False)
class History:
    """Temperatures of every position through a run.

    Attributes:
        times_s: moments [s], shape (times,).
        temps_c: temperatures [°C], shape (times, positions).
        core: column of the geometric core.
        faces: columns of the surface.
        step_ends: row at the end of each step.
    """

    times_s: Array
    temps_c: Array
    core: int
    faces: tuple[int, ...]
    step_ends: tuple[int, ...]

    @property
    def core_c(self) -> Array:
        """Core [°C], shape (times,)."""
        return self.temps_c[:, self.core]

    @property
    def surface_c(self) -> Array:
        """Mean of the faces [°C], shape (times,)."""
        found: Array = self.temps_c[:, self.faces].mean(axis=1)
        return found


@dataclass(frozen=True, eq=False)
class Model:
    """A piece as the engine sees it.

    Attributes:
        body: what conducts.
        positions: where it is read [-].
        core: row of ``positions`` at the core.
        faces: rows of ``positions`` at the surface.
    """

    body: Body
    positions: Array
    core: int
    faces: tuple[int, ...]


def is_one_sided(steps: tuple[Step, ...]) -> bool:
    """Whether any step heats one face more than the other."""
    return any(step.around.one_sided for step in steps)


def model(piece: Piece, end: End, *, one_sided: bool) -> Model:
    """The body, and the positions at which it is read.

    Args:
        piece: the piece.
        end: which end of the planning range.
        one_sided: whether the two faces differ in any step.
    """
    import numpy as np

    material = piece.material_at(end)
    box = piece.shape in ("rod", "brick", "finite_cylinder")
    if one_sided and (box or piece.shape_factor == 0):
        return Model(Slab(piece.thickness_m, material), np.linspace(0, 1, 21), 10, (0, 20))
    if not box or piece.frozen:
        body = Symmetric(piece.thickness_m / 2, piece.shape_factor, material)
        return Model(body, np.linspace(0, 1, 9), 0, (8,))
    return _box(piece, Product(_halves(piece), _betas(piece), material))


def _halves(piece: Piece) -> tuple[float, ...]:
    sides = (piece.thickness_m, piece.width_m, piece.length_m)
    return tuple(side / 2 for side in sides if side is not None)


def _betas(piece: Piece) -> tuple[float, ...]:
    return {"rod": (0.0, 0.0), "brick": (0.0, 0.0, 0.0), "finite_cylinder": (1.0, 0.0)}[piece.shape]


def _box(piece: Piece, body: Product) -> Model:
    """Positions from the core to the middle of each face, and the corner."""
    import numpy as np

    directions = len(body.halves_m)
    points = [np.zeros(directions)]
    for axis in range(directions):
        for share in (0.6, 1.0):
            points.append(np.eye(directions)[axis] * share)
    points.append(np.ones(directions))
    return Model(body, np.stack(points), 0, (2,))


def simulate(piece: Piece, steps: tuple[Step, ...], end: End, boiling_c: float = 100.0) -> History:
    """Every position's history.

    Args:
        piece: the piece.
        steps: what it goes through.
        end: which end of the planning range.
        boiling_c: temperature at which a wet face is held over fire [°C].

    Raises:
        HeatError: for no steps, too many, or more than seven days in all.
    """
    import numpy as np

    _check(steps)
    seen = model(piece, end, one_sided=is_one_sided(steps))
    run = _Run(seen, boiling_c, piece.start_c)
    queue = [(index, part, _sampling(step)) for index, step in enumerate(steps) for part in segments(step, end, seen)]
    if piece.frozen:
        queue = run.thaw(piece, queue)
    for index, segment, step_s in queue:
        run.advance(index, segment, step_s)
    times, temps = np.concatenate(run.times), np.concatenate(run.rows)
    ends = np.searchsorted(times, np.cumsum([step.duration_s for step in steps]) - 1e-6)
    return History(times, temps, seen.core, seen.faces, tuple(int(min(row, len(times) - 1)) for row in ends))


def _check(steps: tuple[Step, ...]) -> None:
    if not steps:
        raise HeatError("the programme has no steps")
    if len(steps) > MOST_STEPS:
        raise HeatError(f"the programme has {len(steps)} steps; allowed are {MOST_STEPS}")
    total = sum(step.duration_s for step in steps)
    if total > LONGEST_S:
        raise HeatError(f"the programme lasts {total / 86400:.1f} days; allowed are {LONGEST_S / 86400:.0f}")


def _sampling(step: Step) -> float:
    """Time between samples [s]: fine where a peak may hide, coarser over many hours."""
    wanted = FINE_S if step.around.one_sided or step.kind == "rest" else COARSE_S
    return max(wanted, step.duration_s / 480)


def segments(step: Step, end: End, seen: Model) -> list[Segment]:
    """The step as stretches of constant or steadily changing surroundings.

    Args:
        step: the step.
        end: which end of the planning range.
        seen: the piece; a body with a shape factor feels the mean of the two faces, as if turned often.
    """
    hot, other = step_faces(step, end)
    if other is None:
        return [Segment(step.duration_s, hot)]
    if not isinstance(seen.body, Slab):
        return [Segment(step.duration_s, _mean_face(hot, other))]
    return _flips(step, hot, other)


def step_faces(step: Step, end: End) -> tuple[Face, Face | None]:
    """Surroundings of the face towards the heat, and of the one away from it where it differs."""
    row = step.around
    h = row.h_at(end) if step.h_w_m2k is None else step.h_w_m2k
    hot = Face(h, step.temp_c, step.end_c)
    if not row.one_sided:
        return hot, None
    other_h = row.other_h if step.other_h_w_m2k is None else step.other_h_w_m2k
    return hot, Face(other_h, row.other_c if step.other_c is None else step.other_c)


def _mean_face(hot: Face, other: Face) -> Face:
    total = hot.h_w_m2k + other.h_w_m2k
    mixed = [
        (hot.h_w_m2k * warm + other.h_w_m2k * cool) / total
        for warm, cool in ((hot.start_c, other.start_c), (hot.last_c, other.last_c))
    ]
    return Face(total / 2, mixed[0], mixed[1])


def _flips(step: Step, hot: Face, other: Face) -> list[Segment]:
    """Stretches between flips; the face that met the heat first is the lower one."""
    interval = step.flip_every_s or step.duration_s or 1.0
    if step.duration_s / interval > MOST_FLIPS:
        raise HeatError(f"{step.kind} has more than {MOST_FLIPS} flips")
    parts: list[Segment] = []
    passed, whole = 0.0, Segment(step.duration_s, hot, other)
    while passed < step.duration_s - 1e-6:
        length = min(interval, step.duration_s - passed)
        now = whole.cut(passed)[1].cut(length)[0]
        assert now.low is not None
        turned = len(parts) % 2 == 0
        parts.append(Segment(length, now.low, now.high) if turned else now)
        passed += length
    return parts


class _Run:
    """State of a run: what has been sampled so far, and the field."""

    def __init__(self, seen: Model, boiling_c: float, start_c: float) -> None:
        import numpy as np

        self.seen, self.boiling_c = seen, boiling_c
        self.probes = seen.body.probes(seen.positions)
        sides = seen.faces if len(seen.faces) == 2 else seen.faces * 2
        self.face_probes = self.probes[list(sides)]
        self.state = seen.body.uniform(start_c)
        self.passed = 0.0
        self.times: list[Array] = [np.zeros(1)]
        self.rows: list[Array] = [np.full((1, len(seen.positions)), start_c)]

    def advance(self, index: int, segment: Segment, step_s: float) -> None:
        """Run one segment and keep its samples."""
        if segment.duration_s == 0:
            return
        count = max(1, round(segment.duration_s / step_s))
        grid = (count, self.probes, self.face_probes)
        times, temps, self.state = run_capped(self.seen.body, self.state, segment, grid, self.boiling_c)
        self.times.append(self.passed + times)
        self.rows.append(temps)
        self.passed += segment.duration_s

    def thaw(self, piece: Piece, queue: list[tuple[int, Segment, float]]) -> list[tuple[int, Segment, float]]:
        """Run the frozen part and hand the field over; returns what is left of the programme."""
        import numpy as np

        body = self.seen.body
        assert isinstance(body, (Slab, Symmetric))
        size, beta = (body.thickness_m, None) if isinstance(body, Slab) else (body.half_m, body.beta)
        k, alpha = body.material.k_w_mk, body.material.alpha_m2s
        food = FrozenFood(density_kgm3=k / (alpha * 3500.0), k_w_mk=(k, k * 1.45 / 0.48))
        start = Thawing(food, size, beta, piece.start_c, self.boiling_c)
        done = thaw(start, tuple(part for _, part, _ in queue), 30.0, self.seen.positions)
        self.times, self.rows = [done.times_s], [done.temps_c]
        self.passed = float(done.times_s[-1])
        if not done.thawed:
            return []
        self.state = body.basis.fit(np.interp(body.basis.nodes, *done.field))
        left = len(done.segments_left)
        indices = [(index, step_s) for index, _, step_s in queue][len(queue) - left :]
        return [(index, part, step_s) for (index, step_s), part in zip(indices, done.segments_left, strict=True)]
