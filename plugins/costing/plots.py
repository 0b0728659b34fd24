"""The menu's plot: each dish by its share of plates and its margin, with the two lines that part the classes."""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup, escape
from stillroom.plugins.costing.mix import Mix

WIDTH, HEIGHT, LEFT, RIGHT, TOP, BOTTOM = 640, 340, 48, 610, 24, 290
APART = 22


def scatter(mix: Mix, title: str) -> Markup:
    """The mix as an SVG figure; Markup('') where nothing is placed.

    Dishes are numbered as in the table beside it; the table says the names.
    """
    points = [(n, float(p.mix * 100), float(p.margin)) for n, p in enumerate(mix.placed, 1) if p.margin is not None]
    if not points or mix.mean_margin is None:
        return Markup("")
    popular, mean = float(mix.popular_from * 100), float(mix.mean_margin)
    low_x, high_x = _range([x for _, x, _ in points] + [popular], floor=0.0)
    low_y, high_y = _range([y for _, _, y in points] + [mean])

    def across(x: float) -> float:
        return LEFT + (RIGHT - LEFT) * (x - low_x) / (high_x - low_x)

    def up(y: float) -> float:
        return BOTTOM - (BOTTOM - TOP) * (y - low_y) / (high_y - low_y)

    body = [_axes(low_x, high_x, low_y, high_y), _lines(across(popular), up(mean), popular, mean)]
    heights = _labels([up(m) for _, _, m in points], [across(x) for _, x, _ in points])
    body += [_dot(across(x), y, up(m), n) for (n, x, m), y in zip(points, heights, strict=True)]
    alt = f"{title}: " + "; ".join(f"{p.dish.name} {p.klass}" for p in mix.placed if p.klass)
    return Markup(
        f'<figure class="plot"><svg viewBox="0 0 {WIDTH} {HEIGHT}" role="img" aria-label="{escape(alt)}">'
        f"{''.join(body)}</svg></figure>"
    )


def _axes(low_x: float, high_x: float, low_y: float, high_y: float) -> str:
    parts = [
        f'<line class="grid" x1="{LEFT}" x2="{RIGHT}" y1="{BOTTOM}" y2="{BOTTOM}"/>',
        f'<line class="grid" x1="{LEFT}" x2="{LEFT}" y1="{TOP}" y2="{BOTTOM}"/>',
        f'<text x="2" y="{BOTTOM}">{low_y:.1f}</text><text x="2" y="{TOP + 12}">{high_y:.1f}</text>',
        f'<text x="{LEFT}" y="{BOTTOM + 26}">{low_x:.0f} %</text>',
        f'<text x="{RIGHT}" y="{BOTTOM + 26}" text-anchor="end">{high_x:.0f} % of plates</text>',
    ]
    return "".join(parts)


def _lines(x: float, y: float, popular: float, mean: float) -> str:
    return (
        f'<line class="limit" x1="{x:.1f}" x2="{x:.1f}" y1="{TOP}" y2="{BOTTOM}"/>'
        f'<line class="limit" x1="{LEFT}" x2="{RIGHT}" y1="{y:.1f}" y2="{y:.1f}"/>'
        f'<text x="{min(x + 4, 470):.1f}" y="{BOTTOM - 6}">popular from {popular:.1f} %</text>'
        f'<text x="{LEFT + 4}" y="{y - 6:.1f}">margin {mean:.2f}</text>'
    )


def _dot(x: float, label_y: float, y: float, number: int) -> str:
    return (
        f'<circle class="dot" cx="{x:.1f}" cy="{y:.1f}" r="5"/>'
        f'<text class="label" x="{x + 8:.1f}" y="{label_y + 4:.1f}">{number}</text>'
    )


def _labels(ys: Sequence[float], xs: Sequence[float]) -> list[float]:
    """Heights of the numbers, moved apart where two dots are close."""
    placed: list[tuple[float, float]] = []
    heights = []
    for x, y in zip(xs, ys, strict=True):
        while any(abs(x - a) < APART and abs(y - b) < APART - 4 for a, b in placed):
            y += APART - 4
        placed.append((x, y))
        heights.append(y)
    return heights


def _range(values: Sequence[float], floor: float | None = None) -> tuple[float, float]:
    low, high = min(values), max(values)
    room = (high - low) * 0.12 or max(abs(high) * 0.1, 0.5)
    return (floor if floor is not None else low - room), high + room
