"""Every page of our own on a phone 360 px wide, in a bright and in a dim room, and on an office screen."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import pytest

ROUTES = csv.DictReader((Path(__file__).parents[1] / "data" / "routes.csv").read_text("utf-8").splitlines())
# Addresses that are files or take only a form; a page of our own draws all others.
NO_PAGE = (
    ".ics", ".json", ".jsonld", ".js", ".jpg", "/back", "/take-back", "/undo", "/tick", "/overrule", "/absence",
    "/change", "/make", "/start", "/changes/read", "/ageing/promise", "/promote", "/taste", "/sign-out", "/account",
)  # fmt: skip
CHOP, VENISON = "/doneness/mutton-loin-chop", "/trials/venison-haunch-damson"
BRILL = "/recipe/brill-on-the-bone-buttered-samphire"
# The same pages answering: found, not found, wrong, long.
ANSWERING = (
    "/guest?avoid=milk&avoid=tree_nut", "/guest?avoid=millk", "/guest?ingredient=nothing+of+that+name",
    "/guest?avoid=milk&avoid=walnut&ingredient=prawn,+garlic", "/dish/pork-chop-apple-and-mustard",
    "/dish/salt-marsh-mutton-loin-celeriac", "/reviews/saltby-dairy-dairy-kitchen-mayonnaise-sd-127",
    "/short?find=cre", "/short?find=nothing+of+that+name", "/short/butter-salted", "/short/butter-unsalted",
    "/suppliers?from=2026-11-01", "/suppliers/saltby-dairy?item=butter-salted",
    "/suppliers/saltby-dairy?from=2020-01-01&to=2020-01-02", "/suppliers/saltby-dairy?from=2026-02-31",
    "/recipes?find=nothing+of+that+name", f"{BRILL}?plates=24", "/recipe/oyster-cream?to=3+kg",
    "/recipe/mutton-loin-chop?batches=7/3", "/recipe/oyster-cream/read?to=3+l", "/recipe/oyster-cream/labels?copies=0",
    "/recipe/brown-butter", "/batch/2500", "/search?q=leks", "/search?q=zzzz",
    CHOP, f"{CHOP}?thickness=3+m&shape=slab&start=38+F&step1=bath&at1=60+F&ready=25:00",
    "/doneness/line?piece=mutton-loin-chop", "/doneness/cooling?depth=2+in", "/doneness/cooling?depth=0",
    "/doneness/readings?log=C-101",
    "/cost/brill-on-the-bone-buttered-samphire?from=2026-09-20", "/cost/mutton-loin-chop",
    "/cost/what-if?item=brill&price=60", "/ageing?need=10&cut=beef-rib-steak", "/ageing/plan?lot=M-0338&length=60",
    "/ageing/plan?cut=mutton-loin-chop&weight=4.2&length=60&taper=70&ends=2",
    "/log/breakdown?of=mutton-loin-chop", "/log/batch?of=brown-butter", "/log/use", "/log/cooling", "/log/hold",
    "/log/count", "/log/short", "/log/plates", "/log/weigh", "/log/freeze", "/log/hang?of=beef-rib-bone-in",
    "/log/ageing_lots/3", "/log/tag", "/log/tasting", "/log/deliveries/100", "/log/breakdowns/3", "/trace?lot=SD261117",
    VENISON, f"{VENISON}/compare?v=1&v=2&v=3", "/trials/new?name=Pie", "/menu-on/2026-12-24", "/prep?person=bea",
    # Datasette's own: list, tables, a view, counts by column, a row, questions with and without rows.
    "/kitchen", "/kitchen/deliveries", "/kitchen/items?_nocol=note", "/kitchen/delivery_line",
    "/kitchen/deliveries?_facet=supplier_id&_facet=kind&kind=goods&door_temp_f__gt=41&_sort_desc=received_on",
    "/kitchen/items?name=nothing+of+that+name", "/kitchen/items/butter-salted", "/kitchen/deliveries/100",
    "/kitchen/trial_versions",
    "/kitchen/dishes_using?item=butter", "/kitchen/plates_between?first_day=2030-01-01", "/kitchen/supplier_lines",
)  # fmt: skip
PAGES = sorted({*(row["address"] for row in ROUTES if not row["address"].endswith(NO_PAGE)), *ANSWERING})


@pytest.mark.parametrize("path", PAGES)
def test_pages_fit_a_phone_and_are_accessible(base: str, phone: Any, faults: Any, path: str) -> None:
    """No sideways scrolling, no accessibility violation, no console error; folded parts open. In a dim room every word
    stands out as well, and on an office screen nothing is wider than it.
    """
    answer = phone.goto(base + path)
    assert answer.status == 200
    phone.evaluate("document.querySelectorAll('main details').forEach(d => d.open = true)")
    assert faults(phone) == []
    phone.emulate_media(color_scheme="dark")
    assert phone.evaluate("axe.run({runOnly: ['color-contrast']})")["violations"] == []
    phone.set_viewport_size({"width": 1280, "height": 800})
    assert phone.evaluate("document.documentElement.scrollWidth") <= 1280
