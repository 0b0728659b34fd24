"""What a plate costs and which dishes earn: /cost and the pages below it, /menu, and parts of other pages."""

from __future__ import annotations

from typing import Any

from datasette import hookimpl
from stillroom.plugins.core import margins
from stillroom.plugins.core.parts import offer
from stillroom.plugins.core.tried import answer_with
from stillroom.plugins.costing import actual_pages, breakdown_pages, earned, mix_pages, pages, trial_pages, tried
from stillroom.plugins.costing.offers import OFFERS

for part in OFFERS:
    offer(part)
answer_with(tried.worth_of)
margins.answer_with(earned.margins)


@hookimpl
def register_routes() -> list[tuple[str, Any]]:
    return [
        (r"^/cost(\.(?P<kind>json|csv|xlsx))?$", pages.overview),
        (r"^/cost/what-if(\.json)?$", trial_pages.what_if_page),
        (r"^/cost/butcher(\.json)?$", trial_pages.butcher_page),
        (r"^/cost/cuts(\.(?P<kind>json|csv|xlsx))?$", breakdown_pages.cuts),
        (r"^/cost/breakdown/(?P<code>[^/]+?)(\.json)?$", breakdown_pages.breakdown),
        (r"^/cost/actual(\.(?P<kind>json|csv|xlsx))?$", actual_pages.actual),
        (r"^/cost/(?P<recipe>[a-z0-9-]+)(\.(?P<kind>json|csv|xlsx))?$", pages.detail),
        (r"^/menu(\.(?P<kind>json|csv|xlsx))?$", mix_pages.menu),
    ]
