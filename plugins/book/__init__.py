"""The recipe book: /recipes, /recipe/ID, its large type, its labels, and the page of a batch."""

from __future__ import annotations

from typing import Any

from datasette import hookimpl
from stillroom.plugins.book import batches, label_pages, pages, photo_pages

RECIPE = r"^/recipe/(?P<recipe>[a-z0-9-]+)"


@hookimpl
def startup() -> None:
    pages.offer_parts()


@hookimpl
def register_routes() -> list[tuple[str, Any]]:
    return [
        (r"^/recipes(\.json)?$", pages.recipes),
        (RECIPE + r"(\.json)?$", pages.recipe),
        (RECIPE + r"/read(\.json)?$", pages.read),
        (r"^/photo/(?P<recipe>[a-z0-9-]+)\.jpg$", photo_pages.photo),
        (RECIPE + r"/labels(\.json)?$", label_pages.of_recipe),
        (r"^/batch/(?P<batch>[0-9]{1,15})(\.json)?$", batches.batch),
        (r"^/batch/(?P<batch>[0-9]{1,15})/labels(\.json)?$", label_pages.of_batch),
    ]
