"""The weight curve of an ageing lot: weighings as dots, the forecast as a line in its band."""

from __future__ import annotations

from collections.abc import Callable

from markupsafe import Markup, escape
from stillroom.plugins.cuts.compute import Curve

WIDTH, HEIGHT, LEFT, RIGHT, TOP, BOTTOM = 640, 260, 52, 550, 22, 210
Scale = Callable[[float], float]


def weight_plot(curve: Curve, target_days: int | None, alt: str) -> Markup:
    """The curve as an SVG figure; weights in kg, days from the start. The target day is a dashed line.

    Args:
        curve: at least two weighed points [d, g].
        target_days: the day it is meant for, None = none.
        alt: what the picture says, for those who don't see it.
    """
    weights = [g for _, g in curve.weighed] + [g for _, low, high in curve.band for g in (low, high)]
    last_day = max([d for d, _ in curve.weighed] + [d for d, _ in curve.ahead] + [float(target_days or 0)])
    room = (max(weights) - min(weights)) * 0.1 or 1.0
    low, high = min(weights) - room, max(weights) + room

    def across(day: float) -> float:
        return LEFT + (RIGHT - LEFT) * day / last_day

    def up(grams: float) -> float:
        return BOTTOM - (BOTTOM - TOP) * (grams - low) / (high - low)

    body = [_grid(grams, up) for grams in (low + room, (low + high) / 2, high - room)]
    body += [_band(curve, across, up), _day(across(0), "start", "start")]
    body.append(_day(across(last_day), f"day {last_day:.0f}", "end"))
    body += [_target(across(target_days), target_days)] if target_days else []
    body += [_line(curve, across, up)]
    body += [f'<circle class="dot" cx="{across(d):.1f}" cy="{up(g):.1f}" r="4"/>' for d, g in curve.weighed]
    day, grams = (curve.ahead or curve.weighed)[-1]
    body.append(f'<text class="label" x="{across(day) + 8:.0f}" y="{up(grams) + 5:.0f}">{grams / 1000:.2f} kg</text>')
    return Markup(
        f'<figure class="plot"><svg viewBox="0 0 {WIDTH} {HEIGHT}" role="img" aria-label="{escape(alt)}">'
        f"{''.join(body)}</svg></figure>"
    )


def _grid(grams: float, up: Scale) -> str:
    y = up(grams)
    return (
        f'<line class="grid" x1="{LEFT}" x2="{RIGHT}" y1="{y:.0f}" y2="{y:.0f}"/>'
        f'<text x="2" y="{y + 5:.0f}">{grams / 1000:.1f}</text>'
    )


def _day(x: float, word: str, anchor: str) -> str:
    return f'<text text-anchor="{anchor}" x="{x:.0f}" y="{BOTTOM + 30}">{word}</text>'


def _target(x: float, day: int) -> str:
    return (
        f'<line class="limit" x1="{x:.1f}" x2="{x:.1f}" y1="{TOP}" y2="{BOTTOM}"/>'
        f'<text text-anchor="end" x="{x - 5:.0f}" y="{TOP + 10}">its day, {day}</text>'
    )


def _band(curve: Curve, across: Scale, up: Scale) -> str:
    if not curve.band:
        return ""
    there = [f"{across(d):.1f} {up(high):.1f}" for d, _, high in curve.band]
    back = [f"{across(d):.1f} {up(low):.1f}" for d, low, _ in reversed(curve.band)]
    return f'<path class="band" d="M{"L".join([*there, *back])}Z"/>'


def _line(curve: Curve, across: Scale, up: Scale) -> str:
    points = "L".join(f"{across(d):.1f} {up(g):.1f}" for d, g in (*curve.weighed, *curve.ahead))
    return f'<path class="line" d="M{points}"/>'
