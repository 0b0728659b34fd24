"""/recipe/ID.jsonld, /menu-on/DATE.jsonld, and the recipe in the head of its own page."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from datetime import date
from typing import Any

from datasette.utils.asgi import Response
from markupsafe import Markup
from stillroom.db.kitchen import settings
from stillroom.plugins.core.auth import decide, role_of
from stillroom.plugins.core.pages import FRESH, NotFound, page, query
from stillroom.plugins.core.parts import Offer
from stillroom.plugins.formats import jsonld
from stillroom.plugins.formats.rows import card_of, dishes_on

KIND = "application/ld+json; charset=utf-8"


def _file(thing: dict[str, Any], name: str) -> Response:
    headers = {**FRESH, "content-disposition": f'inline; filename="{name}.jsonld"'}
    return Response(jsonld.as_text(thing), headers=headers, content_type=KIND)


@page("core/plain.html", needs="recipe")
async def recipe(datasette: Any, request: Any) -> Response:
    wanted = request.url_vars["recipe"]
    card = await query(datasette, lambda connection: card_of(connection, wanted))
    if card is None:
        raise NotFound("There is no recipe of that name.")
    return _file(jsonld.recipe(card), wanted)


@page("core/plain.html", needs="dish")
async def menu(datasette: Any, request: Any) -> Response:
    may_price, text = decide(role_of(request.actor), "cost"), request.url_vars["day"]
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise NotFound("There is no such day. Write it as 2026-11-25.") from None

    def work(connection: sqlite3.Connection) -> dict[str, Any]:
        said = settings(connection)
        return jsonld.menu(said["name"], day, dishes_on(connection, day, may_price), said["currency"])

    return _file(await query(datasette, work), f"menu-{text}")


@dataclass(frozen=True)
class Head:
    """A recipe's own page says in its head what the recipe is: as data, and where the file is."""

    id: str
    linked: dict[str, Any]

    @property
    def text(self) -> Markup:
        """The data; no character in it can end the element that it stands in."""
        return Markup(jsonld.as_text(self.linked))

    def as_json(self) -> dict[str, Any]:
        return self.linked


def head(connection: sqlite3.Connection, recipe: str, _role: str) -> Head | None:
    """What stands in the head of a recipe's page."""
    card = card_of(connection, recipe)
    return None if card is None else Head(recipe, jsonld.recipe(card))


HEAD = Offer("recipe", "head_linked_data", "recipe", "formats/head.html", head)
