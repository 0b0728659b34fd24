"""Recipes and menus in the vocabulary of schema.org, as JSON-LD. Pure.

Source: schema.org, types Recipe, HowToStep, Menu, MenuSection, MenuItem, Offer. Durations are ISO 8601.
Diets are never claimed: what nobody declared is not what is not there.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

CONTEXT = "https://schema.org"


@dataclass(frozen=True)
class Card:
    """A recipe as others may read it. active_s, passive_s: of one batch [s]; None = not said."""

    name: str
    kitchen: str
    section: str
    made: str
    lines: tuple[str, ...]
    steps: tuple[str, ...]
    tools: tuple[str, ...]
    active_s: int | None
    passive_s: int | None
    changed_on: date | None


@dataclass(frozen=True)
class Dish:
    """One dish of a menu. price: tax excluded [money], None = not said, or not for whoever asks."""

    name: str
    section: str
    price: Decimal | None


def recipe(card: Card) -> dict[str, Any]:
    """A recipe as schema.org/Recipe; what is not known is left out."""
    spans = [s for s in (card.active_s, card.passive_s) if s is not None]
    whole = {
        "@context": CONTEXT, "@type": "Recipe", "name": card.name,
        "author": {"@type": "Organization", "name": card.kitchen},
        "recipeCategory": card.section, "recipeYield": card.made, "recipeIngredient": list(card.lines),
        "recipeInstructions": [
            {"@type": "HowToStep", "position": n, "text": step} for n, step in enumerate(card.steps, 1)
        ],
        "tool": [{"@type": "HowToTool", "name": tool} for tool in card.tools],
        "prepTime": duration(card.active_s), "totalTime": duration(sum(spans)) if spans else "",
        "dateModified": card.changed_on.isoformat() if card.changed_on else "",
    }  # fmt: skip
    return {key: value for key, value in whole.items() if value not in ("", [])}


def menu(kitchen: str, day: date, dishes: Sequence[Dish], currency: str) -> dict[str, Any]:
    """The menu of a day as schema.org/Menu, by section."""
    sections: dict[str, list[dict[str, Any]]] = {}
    for dish in dishes:
        sections.setdefault(dish.section or "Menu", []).append(_item(dish, currency))
    return {
        "@context": CONTEXT, "@type": "Menu", "name": f"{kitchen}, {day.day} {day:%B} {day.year}",
        "provider": {"@type": "Organization", "name": kitchen}, "temporalCoverage": day.isoformat(),
        "hasMenuSection": [
            {"@type": "MenuSection", "name": name, "hasMenuItem": items} for name, items in sections.items()
        ],
    }  # fmt: skip


def _item(dish: Dish, currency: str) -> dict[str, Any]:
    item: dict[str, Any] = {"@type": "MenuItem", "name": dish.name}
    if dish.price is not None:
        price = {"@type": "PriceSpecification", "price": str(dish.price), "priceCurrency": currency,
                 "valueAddedTaxIncluded": False}  # fmt: skip
        item["offers"] = {"@type": "Offer", "priceSpecification": price}
    return item


def duration(seconds: int | None) -> str:
    """ISO 8601: 5400 s is 'PT1H30M'; '' for None.

    Example:
        >>> duration(5400), duration(45), duration(0), duration(None)
        ('PT1H30M', 'PT45S', 'PT0S', '')
    """
    if seconds is None:
        return ""
    minutes, rest = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60)
    parts = [f"{n}{unit}" for n, unit in ((hours, "H"), (minutes, "M"), (rest, "S")) if n]
    return f"PT{''.join(parts) or '0S'}"


def as_text(thing: dict[str, Any]) -> str:
    """JSON that may stand in a page's script element: no character in it can end the element."""
    text = json.dumps(thing, ensure_ascii=False, indent=1)
    for char in "<>&\u2028\u2029":
        text = text.replace(char, f"\\u{ord(char):04x}")
    return text
