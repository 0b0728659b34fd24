"""The picture and the minute table of a programme, kept as text so that asking again costs nothing."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

from markupsafe import Markup, escape
from stillroom.plugins.core.charts import Backdrop, Limit, Line, Span, curve_chart
from stillroom.plugins.doneness.compute import Minute, Question, at_moments, minutes, plan
from stillroom.plugins.doneness.scale import FAHRENHEIT, Scale
from stillroom.plugins.physics.programme import Prediction
from stillroom.plugins.physics.temperature import f_from_c

POINTS = 150
HEAD = ("Minute", "Core", "likely between", "Surface", "Coldest, if slow")


@lru_cache(maxsize=128)
def chart(question: Question, scale: Scale = FAHRENHEIT) -> Markup:
    """Core, surface and coldest point over time, with the core's likely range."""
    made = plan(question)
    prediction = made.prediction
    curves = (prediction.core_c, prediction.surface_c, prediction.slow_coldest_c)
    moments, (core, surface, coldest) = _thinned(prediction, curves, scale)
    _, (slow, fast) = _thinned(prediction, (prediction.slow_core_c, prediction.fast_core_c), scale)
    lines = [
        Line(list(zip(moments, core, strict=True)), "core"),
        Line(list(zip(moments, surface, strict=True)), "surface", is_accent=True),
        Line(list(zip(moments, coldest, strict=True)), "coldest"),
    ]
    low = [min(pair) for pair in zip(slow, fast, strict=True)]
    high = [max(pair) for pair in zip(slow, fast, strict=True)]
    span = Span(list(zip(moments, low, high, strict=True)))
    behind = Backdrop(_limits(made.question, scale), [step.end_s / 60 for step in prediction.steps[:-1]])
    return curve_chart(lines, _finding(prediction, scale, made.limits_f), "{:g} min".format, _mark(scale), behind, span)


def _mark(scale: Scale) -> Callable[[float], str]:
    """A temperature of an axis, already in the kitchen's scale."""
    return f"{{:g}} {scale.unit}".format


def _thinned(
    prediction: Prediction, curves: tuple[tuple[float, ...], ...], scale: Scale
) -> tuple[list[float], list[list[float]]]:
    """Some moments [min], those of the steps' ends among them, and the curves there in the kitchen's scale."""
    every = max(1, len(prediction.times_s) // POINTS)
    ends = {step.end_s for step in prediction.steps}
    last = len(prediction.times_s) - 1
    kept = [i for i, at in enumerate(prediction.times_s) if i % every == 0 or i == last or at in ends]
    return [prediction.times_s[i] / 60 for i in kept], [
        [scale.number(f_from_c(curve[i])) for i in kept] for curve in curves
    ]


def _limits(question: Question, scale: Scale) -> list[Limit]:
    said = scale.deg(130.0, 1)
    if any(step.kind == "bath" for step in question.steps):
        return [Limit(scale.number(130.0), f"below {said}: no pasteurisation credit")]
    return [Limit(scale.number(130.0), said)]


def _finding(prediction: Prediction, scale: Scale, limits_f: tuple[float, ...]) -> str:
    likely, slow, fast = (f_from_c(temp) for temp in prediction.peak_core_c)
    range_said = scale.between(min(slow, fast), max(slow, fast), 0, limits_f).replace(" to ", " and ")
    return (
        f"Core, surface and coldest point over {prediction.times_s[-1] / 60:.0f} minutes: the core peaks near "
        f"{scale.deg(likely, 0, limits_f)}, likely between {range_said}, "
        f"after {prediction.peak_at_s / 60:.0f} minutes"
    )


@lru_cache(maxsize=128)
def minute_table(question: Question, scale: Scale = FAHRENHEIT) -> Markup:
    """The same numbers by the minute."""
    made = plan(question)
    found = minutes(made.prediction)
    head = "".join(f'<th scope="col" class="num">{escape(word)}</th>' for word in HEAD)
    body = "".join(_row(row, scale, made.limits_f) for row in found)
    return Markup(
        '<div class="wide" tabindex="0" role="region" aria-label="By the minute">'
        f"<table><caption>{scale.unit}, predicted</caption><thead><tr>{head}</tr></thead>"
        f"<tbody>{body}</tbody></table></div>"
    )


def _row(row: Minute, scale: Scale, limits_f: tuple[float, ...]) -> str:
    low, high = sorted((row.slow, row.fast))
    core, coldest = (scale.rounded(temp, 1, limits_f) for temp in (row.core, row.coldest))
    between = f"{scale.bare(low, 0, limits_f)} to {scale.bare(high, 0, limits_f)}"
    cells = (f"{row.minute}", _tenths(core), between, scale.bare(row.surface, 0, limits_f), _tenths(coldest))
    return "<tr>" + "".join(f'<td class="num">{cell}</td>' for cell in cells) + "</tr>"


def _tenths(number: float) -> str:
    """With one decimal, with two where it was cut off beside a limit."""
    return f"{number:.1f}" if round(number, 1) == number else f"{number:.2f}"


def log_chart(
    times_s: tuple[float, ...],
    temps_f: tuple[float, ...],
    question: Question | None,
    alt: str,
    scale: Scale = FAHRENHEIT,
) -> Markup:
    """Readings, with the predicted core over the same clock where there is a programme."""
    every = max(1, len(times_s) // POINTS)
    kept = [i for i in range(len(times_s)) if i % every == 0 or i == len(times_s) - 1]
    start = times_s[0] if question is None else 0.0
    read = [((times_s[i] - start) / 60, scale.number(temps_f[i])) for i in kept]
    lines = [Line(read, "probe", is_accent=True)]
    span = None
    if question is not None:
        last = int(times_s[-1] // 60)
        found = plan(question).prediction
        whole = [m for m in range(0, int(found.times_s[-1] // 60) + 1, max(1, last // POINTS)) if m <= last + 60]
        curves = (found.core_c, found.slow_core_c, found.fast_core_c)
        core, slow, fast = (list(map(scale.number, at_moments(found.times_s, curve, whole))) for curve in curves)
        lines.insert(0, Line(list(zip(whole, core, strict=True)), "predicted"))
        edges = [(m, min(pair), max(pair)) for m, *pair in zip(whole, slow, fast, strict=True)]
        span = Span(edges)
    return curve_chart(lines, alt, "{:g} min".format, _mark(scale), span=span)
