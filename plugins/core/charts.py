"""Plots drawn on the server as SVG: ink lines, direct labels, dashed limits, a text that says the finding."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from markupsafe import Markup, escape

WIDTH, HEIGHT = 640, 220
LEFT, RIGHT, TOP, BOTTOM = 48, 560, 22, 170
LABEL_APART = 20  # px between the middles of two words that would else lie over each other


@dataclass(frozen=True)
class Line:
    """Points (x, y) in order of x, and the words at the line's end. is_step: a value holds until the next point."""

    points: Sequence[tuple[float, float]]
    label: str
    is_step: bool = False
    is_accent: bool = False


@dataclass(frozen=True)
class Limit:
    """A value that must be kept, drawn dashed and named."""

    value: float
    name: str


def line_chart(
    lines: Sequence[Line], alt: str, x_text: Callable[[float], str], y_text: Callable[[float], str] = "{:g}".format,
    limits: Sequence[Limit] = (),
) -> Markup:  # fmt: skip
    """Lines over one pair of axes, as an SVG figure.

    Args:
        lines: at least one, each with at least one point; x and y in the page's own units.
        alt: what the picture says, for those who don't see it.
        x_text: a position on the x axis in words.
        y_text: a value in words.
        limits: values to keep, dashed.

    Raises:
        ValueError: there is no line, or one has no point.
    """
    if not lines or not all(line.points for line in lines):
        raise ValueError("a plot needs at least one line, and every line at least one point")
    xs = [x for line in lines for x, _ in line.points]
    low_x, high_x = min(xs), max(xs) if max(xs) > min(xs) else min(xs) + 1
    low, high = _range([y for line in lines for _, y in line.points] + [limit.value for limit in limits])

    def across(x: float) -> float:
        return LEFT + (RIGHT - LEFT) * (x - low_x) / (high_x - low_x)

    def up(y: float) -> float:
        return BOTTOM - (BOTTOM - TOP) * (y - low) / (high - low)

    ticks = [low + (high - low) * n / 2 for n in range(3)]
    body = [f'<line class="grid" x1="{LEFT}" x2="{RIGHT}" y1="{up(t):.0f}" y2="{up(t):.0f}"/>' for t in ticks]
    body += [_word(2, up(t) + 4, y_text(t)) for t in ticks]
    body += [_day(across(x), x_text(x), n) for n, x in enumerate((low_x, (low_x + high_x) / 2, high_x))]
    body += [_limit(up(limit.value), limit.name) for limit in limits]
    body += [_path(line, across, up) for line in lines]
    ends = [(up(line.points[-1][1]), across(line.points[-1][0]), line.label) for line in lines]
    body += [_word(min(x + 10, 568), y + 4, word, "label") for (_, x, word), y in zip(ends, _apart(ends), strict=True)]
    return Markup(
        f'<figure class="plot"><svg viewBox="0 0 {WIDTH} {HEIGHT}" role="img" aria-label="{escape(alt)}">'
        f"{''.join(body)}</svg></figure>"
    )


def step_chart(points: Sequence[tuple[date, float]], alt: str, label: str, limits: Sequence[Limit] = ()) -> Markup:
    """A value over time that holds until it changes, as an SVG figure.

    Args:
        points: (day, value), in order of day; at least one.
        alt: what the picture says, for those who don't see it.
        label: the last value as text, written at the line's end.
        limits: values to keep, dashed.
    """
    if not points:
        raise ValueError("a plot needs at least one point")
    first = points[0][0]
    line = Line([((on - first).days, value) for on, value in points], label, is_step=True)

    def on_day(days: float) -> str:
        on = first + timedelta(days=round(days))
        return f"{on.day} {on:%b}"

    return line_chart([line], alt, on_day, "{:.2f}".format, limits)


def _word(x: float, y: float, text: str, kind: str = "") -> str:
    mark = f' class="{kind}"' if kind else ""
    return f'<text{mark} x="{x:.0f}" y="{y:.0f}">{escape(text)}</text>'


def _day(x: float, text: str, number: int) -> str:
    """A word under the x axis: the first begins at its place, the next stands over it, the last ends there."""
    anchor = ("start", "middle", "end")[number]
    return f'<text text-anchor="{anchor}" x="{x:.0f}" y="200">{escape(text)}</text>'


def _limit(y: float, name: str) -> str:
    return f'<line class="limit" x1="{LEFT}" x2="{RIGHT}" y1="{y:.1f}" y2="{y:.1f}"/>{_word(LEFT + 4, y - 5, name)}'


def _path(line: Line, across: Callable[[float], float], up: Callable[[float], float]) -> str:
    (x, y), *rest = line.points
    parts = [f"H{across(x):.1f}V{up(y):.1f}" if line.is_step else f"L{across(x):.1f} {up(y):.1f}" for x, y in rest]
    accent = " accent" if line.is_accent else ""
    end_x, end_y = line.points[-1]
    return (
        f'<path class="line{accent}" d="M{across(x):.1f} {up(y):.1f}{"".join(parts)}"/>'
        f'<circle class="dot" cx="{across(end_x):.1f}" cy="{up(end_y):.1f}" r="4"/>'
    )


def _apart(ends: Sequence[tuple[float, float, str]]) -> list[float]:
    """Heights of the words at the lines' ends, moved down where two would touch."""
    heights = [0.0] * len(ends)
    above = float("-inf")
    for n in sorted(range(len(ends)), key=lambda n: ends[n][0]):
        above = heights[n] = max(ends[n][0], above + LABEL_APART)
    return heights


def _range(values: Sequence[float]) -> tuple[float, float]:
    """A little room above and below; never a range of nothing."""
    low, high = min(values), max(values)
    room = (high - low) * 0.1 or max(abs(high) * 0.1, 0.01)
    return low - room, high + room


@dataclass(frozen=True)
class Span:
    """A band of what is likely: (x, low, high), in order of x."""

    points: Sequence[tuple[float, float, float]]


@dataclass(frozen=True)
class Backdrop:
    """What stands behind curves: values to keep, and where on the x axis something changes."""

    limits: Sequence[Limit] = ()
    marks: Sequence[float] = ()


NOTHING_BEHIND = Backdrop()


def curve_chart(
    lines: Sequence[Line], alt: str, x_text: Callable[[float], str], y_text: Callable[[float], str],
    behind: Backdrop = NOTHING_BEHIND, span: Span | None = None,
) -> Markup:  # fmt: skip
    """Smooth curves with a likely range and the moments at which something changes, as an SVG figure.

    Args:
        lines: at least one, each with at least one point; x and y in the page's own units.
        alt: what the picture says, for those who don't see it.
        x_text: a position on the x axis, in minutes, in words.
        y_text: a value in words.
        behind: limits, and positions with an upright line.
        span: the range to shade.

    Raises:
        ValueError: there is no line, or one has no point.
    """
    if not lines or not all(line.points for line in lines):
        raise ValueError("a plot needs at least one line, and every line at least one point")
    shaded = span.points if span else ()
    xs = [x for line in lines for x, _ in line.points]
    ys = [y for line in lines for _, y in line.points] + [limit.value for limit in behind.limits]
    ys += [y for _, *pair in shaded for y in pair]
    low_x, high_x, (low, high) = min(xs), max(max(xs), min(xs) + 1e-9), _range(ys)

    def across(x: float) -> float:
        return LEFT + (CURVE_RIGHT - LEFT) * (x - low_x) / (high_x - low_x)

    def up(y: float) -> float:
        return CURVE_BOTTOM - (CURVE_BOTTOM - TOP) * (y - low) / (high - low)

    body = [f'<path class="band" d="{_outline(shaded, across, up)}"/>'] if shaded else []
    body += [f'<line class="grid" x1="{LEFT}" x2="{CURVE_RIGHT}" y1="{up(t):.0f}" y2="{up(t):.0f}"/>'
             f"{_word(2, up(t) + 4, y_text(t))}" for t in _even(low, high, 4, ROUND)]  # fmt: skip
    body += [f'<line class="grid" y1="{TOP}" y2="{CURVE_BOTTOM}" x1="{x:.1f}" x2="{x:.1f}"/>'
             for x in map(across, behind.marks)]  # fmt: skip
    body += [f'<text text-anchor="middle" x="{across(x):.0f}" y="{CURVE_BOTTOM + 28}">{escape(x_text(x))}</text>'
             for x in _even(low_x, high_x, 5, MINUTES)]  # fmt: skip
    body += [_limit(up(limit.value), limit.name) for limit in behind.limits]
    body += [_curve(line, across, up) for line in lines]
    ends = [(up(line.points[-1][1]), across(line.points[-1][0]), line.label) for line in lines]
    body += [_word(CURVE_RIGHT + 8, y + 4, word, "label") for (_, _, word), y in zip(ends, _apart(ends), strict=True)]
    return Markup(
        f'<figure class="plot curve"><svg viewBox="0 0 {WIDTH} {CURVE_BOTTOM + 38}" role="img" '
        f'aria-label="{escape(alt)}">{"".join(body)}</svg></figure>'
    )


CURVE_RIGHT, CURVE_BOTTOM = 548, 250
ROUND = tuple(base * 10.0**power for power in range(-3, 6) for base in (1, 2, 5))
MINUTES = (0.1, 0.5, 1, 2, 5, 10, 15, 30, 60, 120, 240, 480, 720, 1440, 2880)


def _even(low: float, high: float, about: int, steps: Sequence[float]) -> list[float]:
    """Round values between two ends, about so many, one of some steps apart."""
    room = (high - low) / about
    step = min(steps, key=lambda one: abs(one - room))
    first = -(-low // step) * step
    return [first + n * step for n in range(int((high - first) // step) + 1)]


def _curve(line: Line, across: Callable[[float], float], up: Callable[[float], float]) -> str:
    path = "L".join(f"{across(x):.1f} {up(y):.1f}" for x, y in line.points)
    return f'<path class="line{" accent" if line.is_accent else ""}" d="M{path}"/>'


def _outline(
    points: Sequence[tuple[float, float, float]], across: Callable[[float], float], up: Callable[[float], float]
) -> str:
    there = [f"{across(x):.1f} {up(high):.1f}" for x, _, high in points]
    back = [f"{across(x):.1f} {up(low):.1f}" for x, low, _ in reversed(points)]
    return f"M{'L'.join([*there, *back])}Z"
