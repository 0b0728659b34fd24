"""How long, how thick, how hot, when to pull: the forward engine asked backwards.

Every answer is monotone in what is sought, so it is bracketed and then closed in on. Where even the end of the bracket
fails the answer is "not reachable", never the end of the bracket. Round times and baths up and thicknesses down before
they are shown.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from .conduction import LONGEST_S, TYPICAL, Face, Material, Segment, Symmetric
from .errors import HeatError, NotReachable, within
from .kinetics import Kinetics
from .lethality import cumulative_logs
from .programme import THICKEST_M, THINNEST_M, End, Piece, Step
from .roots import bracketed_root
from .simulate import History, simulate
from .temperature import f_from_c

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


@dataclass(frozen=True)
class Immersion:
    """A piece in one constant bath.

    Attributes:
        bath_c: temperature of the bath [°C].
        start_c: temperature at the start [°C].
        beta: shape factor [-].
        h_w_m2k: surface coefficient [W/m2K].
        material: conductivity and diffusivity.
    """

    bath_c: float
    start_c: float = 5.0
    beta: float = 0.0
    h_w_m2k: float = 95.0
    material: Material = TYPICAL

    @classmethod
    def of(cls, piece: Piece, bath_c: float, end: End = "slow") -> Immersion:
        """The piece in a bath, at one end of the planning range; decisions are taken on the slow one.

        Args:
            piece: the piece; a box counts as a wide slab of its thickness, which is slower.
            bath_c: temperature of the bath [°C].
            end: which end.

        Raises:
            HeatError: for a frozen piece, or a bath out of range.
        """
        if piece.frozen:
            raise HeatError("a frozen piece is predicted step by step, not asked backwards")
        step = Step("bath", 1.0, bath_c)
        return cls(bath_c, piece.start_c, piece.shape_factor, step.around.h_at(end), piece.material_at(end))

    def body(self, thickness_m: float) -> Symmetric:
        """The body of a thickness [m]."""
        within("thickness", thickness_m * 1000, THINNEST_M * 1000, THICKEST_M * 1000, "mm")
        return Symmetric(thickness_m / 2, self.beta, self.material)

    def core(self, thickness_m: float, duration_s: float, count: int) -> tuple[Array, Array]:
        """Moments [s] and core temperatures [°C], start included, shape (count + 1,)."""
        import numpy as np

        body = self.body(thickness_m)
        probe = body.probes(np.zeros(1))
        face = Face(self.h_w_m2k, self.bath_c)
        temps, _ = body.run(body.uniform(self.start_c), Segment(duration_s, face), count, probe)
        times = duration_s * np.arange(count + 1) / count
        return times, np.concatenate([[self.start_c], temps[:, 0]])


def time_to_core_s(immersion: Immersion, thickness_m: float, target_c: float) -> float:
    """Time until the core is at the target [s].

    Args:
        immersion: the bath and the piece.
        thickness_m: thickness [m].
        target_c: core wanted [°C].

    Raises:
        NotReachable: when the target does not lie between start and bath, or takes more than seven days.
    """
    low, high = sorted((immersion.start_c, immersion.bath_c))
    if not low < target_c < high:
        raise NotReachable(
            f"a core of {target_c:g} °C is not reachable from {immersion.start_c:g} °C in a bath at "
            f"{immersion.bath_c:g} °C"
        )
    rising = immersion.bath_c > immersion.start_c

    def short(duration_s: float) -> float:
        core = float(immersion.core(thickness_m, duration_s, 1)[1][-1])
        return core - target_c if rising else target_c - core

    return bracketed_root(short, 0.0, _horizon_s(short, 600.0, f"a core of {target_c:g} °C"), tolerance=0.01)


def _horizon_s(short: Callable[[float], float], first_s: float, what: str) -> float:
    horizon = first_s
    while short(min(horizon, LONGEST_S)) < 0:
        if horizon >= LONGEST_S:
            raise NotReachable(f"{what} is not reachable within {LONGEST_S / 86400:.0f} days")
        horizon *= 2
    return min(horizon, LONGEST_S)


def core_logs(
    immersion: Immersion, thickness_m: float, duration_s: float, kinetics: Kinetics, *, claim: bool = True
) -> float:
    """Tenfold reductions at the core after a time in the bath [-].

    Args:
        immersion: the bath and the piece.
        thickness_m: thickness [m].
        duration_s: time in the bath [s].
        kinetics: the record; it must cover the bath's temperature.
        claim: see ``lethality.cumulative_logs``.
    """
    kinetics.check(immersion.bath_c)
    return _core_logs(immersion, thickness_m, duration_s, (kinetics, claim))


def _core_logs(immersion: Immersion, thickness_m: float, duration_s: float, counting: tuple[Kinetics, bool]) -> float:
    times, temps = immersion.core(thickness_m, duration_s, 256)
    return float(cumulative_logs(times, temps, counting[0], claim=counting[1])[-1])


def time_to_logs_s(
    immersion: Immersion, thickness_m: float, kinetics: Kinetics, logs: float | None = None, *, claim: bool = True
) -> float:
    """Time in the bath until the core has lost so many logs [s].

    Args:
        immersion: the bath and the piece.
        thickness_m: thickness [m].
        kinetics: the record; it must cover the bath's temperature.
        logs: tenfold reductions wanted [-]; the record's target when None.
        claim: see ``lethality.cumulative_logs``.

    Raises:
        KineticsOutOfRange: when the record does not cover the bath's temperature.
        NotReachable: when it takes more than seven days.
    """
    kinetics.check(immersion.bath_c)
    wanted = kinetics.target_logs if logs is None else logs

    def short(duration_s: float) -> float:
        return _core_logs(immersion, thickness_m, duration_s, (kinetics, claim)) - wanted

    horizon = _horizon_s(short, 1800.0, f"{wanted:g} log of {kinetics.organism}")
    return bracketed_root(short, 0.0, horizon, tolerance=0.05)


def thickest_m(
    immersion: Immersion, duration_s: float, kinetics: Kinetics, logs: float | None = None, *, claim: bool = True
) -> float:
    """Thickest piece that still loses so many logs at the core in a time [m].

    Args:
        immersion: the bath and the piece.
        duration_s: time in the bath [s].
        kinetics: the record; it must cover the bath's temperature.
        logs: tenfold reductions wanted [-]; the record's target when None.
        claim: see ``lethality.cumulative_logs``.

    Raises:
        KineticsOutOfRange: when the record does not cover the bath's temperature.
        NotReachable: when even a film does not get there.
    """
    kinetics.check(immersion.bath_c)
    within("time in the bath", duration_s, 1.0, LONGEST_S, "s")
    wanted = kinetics.target_logs if logs is None else logs

    def spare(log_thickness: float) -> float:
        return _log_ratio(_core_logs(immersion, math.exp(log_thickness), duration_s, (kinetics, claim)), wanted)

    low, high = math.log(THINNEST_M * 1.001), math.log(THICKEST_M * 0.999)
    # heat goes about sqrt(alpha t) deep: start there, so that the bracket is narrow
    guess = min(max(math.log(2 * math.sqrt(0.4 * immersion.material.alpha_m2s * duration_s)), low), high)
    inner, outer = _outwards(spare, guess, (low, high))
    if outer == low and spare(low) < 0:
        raise NotReachable(f"{wanted:g} log is not reachable at {immersion.bath_c:g} °C in {duration_s / 60:.0f} min")
    if outer == high and spare(high) > 0:
        return THICKEST_M
    return math.exp(bracketed_root(spare, inner, outer, tolerance=2e-5))


def _outwards(falling: Callable[[float], float], guess: float, limits: tuple[float, float]) -> tuple[float, float]:
    """A narrow bracket of the root of a falling function, found by walking from a guess towards it."""
    positive = falling(guess) > 0
    step, limit = (0.3, limits[1]) if positive else (-0.3, limits[0])
    here = guess
    while here != limit:
        there = min(here + step, limit) if positive else max(here + step, limit)
        if (falling(there) > 0) != positive:
            return here, there
        here = there
    return guess, limit


def bath_for_c(
    immersion: Immersion,
    thickness_m: float,
    duration_s: float,
    kinetics: Kinetics,
    logs: float | None = None,
    *,
    claim: bool = True,
) -> float:
    """Coolest bath that takes so many logs from the core in a time [°C].

    Args:
        immersion: the piece; its own bath temperature is not used.
        thickness_m: thickness [m].
        duration_s: time in the bath [s].
        kinetics: the record; the answer lies inside its range.
        logs: tenfold reductions wanted [-]; the record's target when None.
        claim: see ``lethality.cumulative_logs``.

    Raises:
        NotReachable: when no bath inside the record's range does it.
    """
    within("time in the bath", duration_s, 1.0, LONGEST_S, "s")
    wanted = kinetics.target_logs if logs is None else logs

    def spare(bath_c: float) -> float:
        asked = replace(immersion, bath_c=bath_c)
        return _log_ratio(_core_logs(asked, thickness_m, duration_s, (kinetics, claim)), wanted)

    low, high = kinetics.valid_low_c, min(kinetics.valid_high_c, kinetics.credit_cap_c)
    if spare(high) < 0:
        raise NotReachable(
            f"{wanted:g} log of {kinetics.organism} in {thickness_m * 1000:g} mm is not reachable in "
            f"{duration_s / 60:.0f} min by any bath up to {high:g} °C"
        )
    if spare(low) > 0:
        return low
    return bracketed_root(spare, low, high, tolerance=1e-4)


def _log_ratio(logs: float, wanted: float) -> float:
    """Logarithm of got over wanted: near-linear in temperature and in thickness."""
    return math.log(max(logs, 1e-12) / wanted)


@dataclass(frozen=True)
class Pull:
    """When to take a piece from the heat.

    Attributes:
        after_s: time in the step before pulling [s].
        core_c: core at that moment [°C].
        peak_c: what it peaks at afterwards [°C].
        peak_after_s: time from the pull to the peak [s].
        carryover_k: rise of the core from pull to peak [K].
    """

    after_s: float
    core_c: float
    peak_c: float
    peak_after_s: float
    carryover_k: float

    @property
    def core_f(self) -> float:
        """Core at that moment [°F]."""
        return f_from_c(self.core_c)

    @property
    def peak_f(self) -> float:
        """What it peaks at afterwards [°F]."""
        return f_from_c(self.peak_c)

    @property
    def carryover_f(self) -> float:
        """Rise of the core from pull to peak, a difference [°F]."""
        return self.carryover_k * 1.8


@dataclass(frozen=True)
class PullQuestion:
    """What a pull is to land on.

    Attributes:
        step: index of the step that is cut short [-].
        target_c: peak wanted after the pull [°C].
        where: core, or coldest for the coldest position of each moment.
        end: which end of the planning range; slow where a rule is to be met.
        boiling_c: boiling point at the kitchen's altitude [°C].
    """

    step: int
    target_c: float
    where: str = "core"
    end: End = "likely"
    boiling_c: float = 100.0


def latest_pull(piece: Piece, steps: tuple[Step, ...], question: PullQuestion) -> Pull:
    """Moment to pull so that the carryover through the following steps lands on the target.

    Args:
        piece: the piece.
        steps: the programme; the step asked about at the longest it may last, and what follows it (a rest).
        question: what it is to land on.

    Raises:
        NotReachable: when the step at its longest is too short, or the target is passed before it starts.
    """
    if not 0 <= question.step < len(steps) - 1:
        raise HeatError("name the heating step, with at least a rest after it")
    whole = steps[question.step]

    def run(duration_s: float) -> History:
        cut = (*steps[: question.step], whole.lasting(duration_s), *steps[question.step + 1 :])
        return simulate(piece, cut, question.end, question.boiling_c)

    def over(duration_s: float) -> float:
        return _peak(run(duration_s), question)[1] - question.target_c

    if over(whole.duration_s) < 0:
        raise NotReachable(
            f"{question.target_c:.1f} °C is not reachable in {whole.duration_s / 60:.0f} min of {whole.kind}"
        )
    if over(0.0) > 0:
        raise NotReachable(f"{question.target_c:.1f} °C is passed before the {whole.kind} begins")
    after = bracketed_root(over, 0.0, whole.duration_s, tolerance=0.5)
    return _pull(run(after), question, after)


def _peak(history: History, question: PullQuestion) -> tuple[int, float]:
    """Row and height of the highest point from the start of the step asked about."""
    begin = history.step_ends[question.step - 1] if question.step else 0
    curve = history.core_c if question.where == "core" else history.temps_c.min(axis=1)
    row = begin + int(curve[begin:].argmax())
    return row, float(curve[row])


def _pull(history: History, question: PullQuestion, after_s: float) -> Pull:
    at = history.step_ends[question.step]
    row, peak = _peak(history, question)
    core = history.core_c
    highest = int(core[at:].argmax()) + at
    return Pull(
        after_s=after_s,
        core_c=float(core[at]),
        peak_c=peak,
        peak_after_s=float(history.times_s[row] - history.times_s[at]),
        carryover_k=float(core[highest] - core[at]),
    )
