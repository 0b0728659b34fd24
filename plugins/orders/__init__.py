"""Orders: what to buy, from whom, before the cut-off."""

from __future__ import annotations

from typing import Any

from datasette import hookimpl


@hookimpl
def register_routes() -> list[tuple[str, Any]]:
    return []
