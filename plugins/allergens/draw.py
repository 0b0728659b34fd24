"""Templates drawn outside Datasette, whose rendering awaits at every name: ten times as long for a long page."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader
from markupsafe import Markup
from stillroom.db.allergen_judging import Reason
from stillroom.plugins.core import format as formats


def together(reasons: Iterable[Reason]) -> list[Reason]:
    """Reasons that differ only in what they are of, as one: a label nobody has read is said once, not per allergen."""
    found: dict[tuple[object, ...], Reason] = {}
    for one in reasons:
        key = (one.presence, one.path or one.allergen, one.surface, one.clears)
        held = found.get(key)
        found[key] = one if held is None else replace(held, allergen=f"{held.allergen}, {one.allergen}")
    return list(found.values())


def draw(template: str, answer: Any) -> Markup:
    """An answer in one of the feature's templates, every value escaped."""
    return Markup(_environment().get_template(f"allergens/{template}").render(answer=answer))


@cache
def _environment() -> Environment:
    found = Environment(loader=FileSystemLoader(Path(__file__).parent / "templates"), autoescape=True)
    found.filters["spoken_day"] = formats.day
    found.filters["together"] = together
    return found
