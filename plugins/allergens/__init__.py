"""What a guest may meet in a dish: /guest, /dish/ID, /allergens; labels to read: /reviews, /reviews/PRODUCT."""

from __future__ import annotations

from typing import Any

from datasette import hookimpl
from stillroom.plugins.allergens import label_pages, pages


@hookimpl
def register_routes() -> list[tuple[str, Any]]:
    return [
        (r"^/guest(\.json)?$", pages.guest),
        (r"^/dish/(?P<dish>[a-z0-9-]+)(\.json)?$", pages.dish),
        (r"^/allergens(\.(?P<kind>json|csv|xlsx))?$", pages.matrix),
        (r"^/reviews(\.json)?$", label_pages.to_read),
        (r"^/reviews/(?P<product>[a-z0-9-]+)(\.json)?$", label_pages.label),
    ]
