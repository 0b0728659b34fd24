"""Templates drawn outside Datasette, whose rendering awaits at every name: ten times as long for a long page."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader
from markupsafe import Markup
from stillroom.plugins.core import format as formats


def draw(template: str, answer: Any) -> Markup:
    """An answer in one of the feature's templates, every value escaped."""
    return Markup(_environment().get_template(f"allergens/{template}").render(answer=answer))


@cache
def _environment() -> Environment:
    found = Environment(loader=FileSystemLoader(Path(__file__).parent / "templates"), autoescape=True)
    found.filters["spoken_day"] = formats.day
    return found
