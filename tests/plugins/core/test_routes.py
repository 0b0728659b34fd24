"""Every address of stillroom's own stands in tests/data/routes.csv with the action it needs."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

from stillroom.plugins.core.auth import PAGES

ROWS = Path(__file__).parents[2] / "data" / "routes.csv"


def test_every_route_has_a_row(house: Any) -> None:
    """A new route without a row fails here; with one, every role is sent there by tests/people/test_matrix.py."""
    from datasette.plugins import pm
    from datasette.utils import resolve_routes

    rows = list(csv.DictReader(ROWS.read_text("utf-8").splitlines()))
    ours = [(regex, view) for hook in pm.hook.register_routes(datasette=house) for regex, view in hook]
    router = house._routes()
    hit = {id(match.re): match.re.pattern for row in rows if (match := resolve_routes(router, row["address"])[0])}
    missing = {regex for regex, _ in ours} - set(hit.values())
    assert not missing, f"add an address that exists in the demonstration to {ROWS}: {sorted(missing)}"
    strange = [row for row in rows if row["action"] not in PAGES]
    assert not strange, "an action that db/roles.py does not have"
