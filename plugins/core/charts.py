"""Plots drawn on the server as SVG: ink lines, direct labels, a text that says the finding."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from markupsafe import Markup, escape

WIDTH, HEIGHT = 640, 220
LEFT, RIGHT, TOP, BOTTOM = 48, 560, 22, 170


def step_chart(points: Sequence[tuple[date, float]], alt: str, label: str) -> Markup:
    """A value over time that holds until it changes, as an SVG figure.

    Args:
        points: (day, value), in order of day; at least one.
        alt: what the picture says, for those who don't see it.
        label: the last value as text, written at the line's end.
    """
    first, last = points[0][0], max(points[-1][0], points[0][0] + timedelta(days=1))
    low, high = _range([value for _, value in points])

    def x(on: date) -> float:
        return LEFT + (RIGHT - LEFT) * (on - first).days / (last - first).days

    def y(value: float) -> float:
        return BOTTOM - (BOTTOM - TOP) * (value - low) / (high - low)

    path = f"M{x(points[0][0]):.1f} {y(points[0][1]):.1f}" + "".join(f"H{x(on):.1f}V{y(v):.1f}" for on, v in points[1:])
    ticks = [low + (high - low) * n / 2 for n in range(3)]
    grid = "".join(f'<line x1="{LEFT}" x2="{RIGHT}" y1="{y(t):.0f}" y2="{y(t):.0f}"/>' for t in ticks)
    marks = "".join(f'<text x="2" y="{y(t) + 4:.0f}">{t:.2f}</text>' for t in ticks)
    days = "".join(f'<text x="{x(on):.0f}" y="200">{on.day} {on:%b}</text>' for on in (first, first + (last - first) / 2))
    end_x, end_y = x(points[-1][0]), y(points[-1][1])
    return Markup(
        f'<figure class="plot"><svg viewBox="0 0 {WIDTH} {HEIGHT}" role="img" aria-label="{escape(alt)}">'
        f'<g class="grid">{grid}</g>{marks}<path class="line" d="{path}"/>'
        f'<circle class="dot" cx="{end_x:.1f}" cy="{end_y:.1f}" r="4"/>'
        f'<text class="label" x="{min(end_x + 10, 570):.0f}" y="{end_y + 4:.0f}">{escape(label)}</text>{days}</svg></figure>'
    )


def _range(values: Sequence[float]) -> tuple[float, float]:
    """A little room above and below; never a range of nothing."""
    low, high = min(values), max(values)
    room = (high - low) * 0.1 or max(abs(high) * 0.1, 0.01)
    return low - room, high + room
