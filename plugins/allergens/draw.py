"""Templates drawn outside Datasette, whose rendering awaits at every name: ten times as long for a long page."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader
from markupsafe import Markup
from stillroom.db.allergen_facts import NOT_REVIEWED
from stillroom.db.allergen_judging import Reason
from stillroom.plugins.core import format as formats


def together(reasons: Iterable[Reason]) -> list[Reason]:
    """Reasons that differ only in what they are of, as one: a label nobody has read is said once, not per allergen."""
    found: dict[tuple[object, ...], tuple[Reason, dict[str, None]]] = {}
    for one in reasons:
        key = (one.presence, one.path or one.allergen, one.surface, one.clears)
        found.setdefault(key, (one, {}))[1].setdefault(_doubted(one))
    return [replace(one, allergen=", ".join(names)) for one, names in found.values()]


def _doubted(one: Reason) -> str:
    """What a reason is of; with a question mark at each where a label nobody has read is the reason."""
    return f"{one.allergen}?" if one.presence == NOT_REVIEWED else one.allergen


def draw(template: str, answer: Any) -> Markup:
    """An answer in one of the feature's templates, every value escaped."""
    return Markup(_environment().get_template(f"allergens/{template}").render(answer=answer))


@cache
def _environment() -> Environment:
    found = Environment(loader=FileSystemLoader(Path(__file__).parent / "templates"), autoescape=True)
    found.filters["spoken_day"] = formats.day
    found.filters["together"] = together
    return found
