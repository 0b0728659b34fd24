"""One bracketed root finder, so that the common answers need no scipy."""

from __future__ import annotations

from collections.abc import Callable


def bracketed_root(
    function: Callable[[float], float], low: float, high: float, *, tolerance: float, evaluations: int = 100
) -> float:
    """Where the function changes sign between low and high [unit of low].

    Args:
        function: continuous; of opposite sign at the two ends, or zero at one.
        low: one end of the bracket.
        high: the other end.
        tolerance: width of the final bracket, in the unit of low.
        evaluations: give up after this many calls.

    Raises:
        ValueError: when the ends have the same sign.

    Source: T. R. Chandrupatla (1997), Advances in Engineering Software 28, 145-149.
    """
    b, a = low, high
    fb, fa = function(b), function(a)
    if fb == 0.0 or fa == 0.0:
        return b if fb == 0.0 else a
    if (fa > 0) == (fb > 0):
        raise ValueError(f"no change of sign between {low:g} and {high:g}")
    c, fc, part = a, fa, 0.5
    for _ in range(evaluations):
        point = a + part * (b - a)
        value = function(point)
        if value == 0.0:
            return point
        if (value > 0) == (fa > 0):
            c, fc = a, fa
        else:
            c, fc, b, fb = b, fb, a, fa
        a, fa = point, value
        if abs(b - a) <= tolerance:
            break
        part = _next_part((a, b, c), (fa, fb, fc), tolerance)
    return a if abs(fa) < abs(fb) else b


def _next_part(points: tuple[float, float, float], values: tuple[float, float, float], tolerance: float) -> float:
    """Share of the bracket to step: inverse quadratic where that is trustworthy, otherwise half."""
    (a, b, c), (fa, fb, fc) = points, values
    xi, phi = (a - b) / (c - b), (fa - fb) / (fc - fb)
    part = 0.5
    if phi * phi < xi and (1 - phi) ** 2 < 1 - xi:
        part = fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
    edge = 0.5 * tolerance / abs(b - a)
    return min(1 - edge, max(edge, part))
