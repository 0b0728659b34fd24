"""The menu's plot: each dish by its share of plates and its margin, with the two lines that part the classes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import cos, hypot, pi, sin

from markupsafe import Markup, escape
from stillroom.plugins.costing.mix import Mix, Placed

WIDTH, HEIGHT, LEFT, RIGHT, TOP, BOTTOM = 640, 360, 56, 610, 24, 300
DOT = 6.0
TALL, WIDE = 24.0, 14.0  # room of a number's digit, at the size it has on a phone


@dataclass(frozen=True)
class Box:
    """A rectangle by its middle and half its sides."""

    x: float
    y: float
    half_x: float
    half_y: float

    def meets(self, other: Box) -> bool:
        return abs(self.x - other.x) < self.half_x + other.half_x and abs(self.y - other.y) < self.half_y + other.half_y


def scatter(mix: Mix, title: str) -> Markup:
    """The mix as an SVG figure; Markup('') where nothing is placed.

    Dishes are numbered as in the table beside it; the table says the names. A dish that was on the menu for part of
    the days stands at the share it would have had on all of them, so that one line parts the popular from the others.
    """
    points = [(n, _share(p, mix) * 100, float(p.margin)) for n, p in enumerate(mix.placed, 1) if p.margin is not None]
    if not points or mix.mean_margin is None:
        return Markup("")
    popular, mean = float(mix.popular_from * 100), float(mix.mean_margin)
    low_x, high_x = _range([x for _, x, _ in points] + [popular], floor=0.0)
    low_y, high_y = _range([y for _, _, y in points] + [mean])

    def across(x: float) -> float:
        return LEFT + (RIGHT - LEFT) * (x - low_x) / (high_x - low_x)

    def up(y: float) -> float:
        return BOTTOM - (BOTTOM - TOP) * (y - low_y) / (high_y - low_y)

    is_part = any(p.klass and p.popular_from != mix.popular_from for p in mix.placed)
    of = "of plates, if on all days" if is_part else "of plates"
    body = [_axes((low_x, high_x), (low_y, high_y), of), _lines(across(popular), up(mean), popular, mean)]
    dots = [(across(x), up(m)) for _, x, m in points]
    for (n, _, _), dot, label in zip(points, dots, labels(dots, [len(str(n)) for n, _, _ in points]), strict=True):
        body.append(_dot(dot, label, n))
    alt = f"{title}: " + "; ".join(f"{p.dish.name} {p.klass}" for p in mix.placed if p.klass)
    return Markup(
        f'<figure class="plot mix"><svg viewBox="0 0 {WIDTH} {HEIGHT}" role="img" aria-label="{escape(alt)}">'
        f"{''.join(body)}</svg></figure>"
    )


def _share(p: Placed, mix: Mix) -> float:
    """Share of plates, of a dish of part of the days as if of all."""
    return float(p.mix * mix.popular_from / p.popular_from) if p.popular_from else float(p.mix)


def _axes(across: tuple[float, float], up: tuple[float, float], of: str) -> str:
    """Both axes with their ends; of: what the shares are of."""
    (low_x, high_x), (low_y, high_y) = across, up
    parts = [
        f'<line class="grid" x1="{LEFT}" x2="{RIGHT}" y1="{BOTTOM}" y2="{BOTTOM}"/>',
        f'<line class="grid" x1="{LEFT}" x2="{LEFT}" y1="{TOP}" y2="{BOTTOM}"/>',
        f'<text x="2" y="{BOTTOM}">{low_y:.1f}</text><text x="2" y="{TOP + 12}">{high_y:.1f}</text>',
        f'<text x="{LEFT}" y="{BOTTOM + 30}">{low_x:.0f} %</text>',
        f'<text x="{RIGHT}" y="{BOTTOM + 30}" text-anchor="end">{high_x:.0f} % {of}</text>',
    ]
    return "".join(parts)


def _lines(x: float, y: float, popular: float, mean: float) -> str:
    return (
        f'<line class="limit" x1="{x:.1f}" x2="{x:.1f}" y1="{TOP}" y2="{BOTTOM}"/>'
        f'<line class="limit" x1="{LEFT}" x2="{RIGHT}" y1="{y:.1f}" y2="{y:.1f}"/>'
        f'<text x="{min(x + 4, 400):.1f}" y="{BOTTOM - 6}">popular from {popular:.1f} %</text>'
        f'<text x="{RIGHT}" y="{y - 6:.1f}" text-anchor="end">margin {mean:.2f}</text>'
    )


def _dot(dot: tuple[float, float], label: Box, number: int) -> str:
    (x, y), far = dot, hypot(label.x - dot[0], label.y - dot[1]) > 2 * TALL
    line = f'<line class="grid" x1="{x:.1f}" y1="{y:.1f}" x2="{label.x:.1f}" y2="{label.y:.1f}"/>' if far else ""
    return (
        f'{line}<circle class="dot" cx="{x:.1f}" cy="{y:.1f}" r="{DOT:g}"/>'
        f'<text class="label" x="{label.x:.1f}" y="{label.y:.1f}" dy="0.35em" text-anchor="middle">{number}</text>'
    )


def labels(dots: Sequence[tuple[float, float]], digits: Sequence[int]) -> list[Box]:
    """Where each dot's number stands: the nearest place beside it that no dot, no other number and no edge is in.

    Args:
        dots: in drawing units.
        digits: of each number.
    """
    taken = [Box(x, y, DOT, DOT) for x, y in dots]
    found = []
    for (x, y), count in zip(dots, digits, strict=True):
        half = count * WIDE / 2
        spots = (Box(a, b, half, TALL / 2) for a, b in _around(x, y, half))
        inside = [s for s in spots if LEFT + half <= s.x <= WIDTH - half and TALL / 2 <= s.y <= BOTTOM - TALL / 2]
        place = next((s for s in inside if not any(s.meets(t) for t in taken)), Box(x, y, half, TALL / 2))
        taken.append(place)
        found.append(place)
    return found


def _around(x: float, y: float, half: float) -> Iterator[tuple[float, float]]:
    """Places round a dot, the nearest first: to its right, left, above, below, then between and farther out."""
    for ring in range(8):
        for turn in (0, 4, 2, 6, 1, 3, 5, 7):
            angle = turn * pi / 4
            yield (x + (DOT + half + 2 + ring * TALL / 2) * cos(angle),
                   y - (DOT + TALL / 2 + ring * TALL / 2) * sin(angle))  # fmt: skip


def _range(values: Sequence[float], floor: float | None = None) -> tuple[float, float]:
    low, high = min(values), max(values)
    room = (high - low) * 0.12 or max(abs(high) * 0.1, 0.5)
    return (floor if floor is not None else low - room), high + room
