"""Tables, rows and prepared questions as pages: in the house's frame, complete, and there for every table."""

from __future__ import annotations

import csv
import io
import re
import sqlite3
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from stillroom.plugins.core.auth import known


class Loose(HTMLParser):
    """Collects what the policy would refuse to run: scripts and styles of the page's own, strange pictures."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = dict(attrs)
        own = tag in {"style", "img", "svg", "iframe"} or (tag == "script" and "src" not in names)
        runs = any(name == "style" or name.startswith("on") for name in names)
        if own or runs or (names.get("href") or "").strip().lower().startswith("javascript"):
            self.found.append(self.get_starttag_text() or tag)


def loose(page: str) -> list[str]:
    """The elements of a page that are not allowed there."""
    parser = Loose()
    parser.feed(page)
    return parser.found


def test_what_is_loose_is_found() -> None:
    """The reader that the tests below rely on."""
    assert len(loose("<script>1</script><b style='x'><i onclick=y><a href=' JavaScript:z'><img src=q><style>")) == 6
    assert loose("<script src=a></script><a href='/x' title='&quot; onclick=1'>&lt;img&gt;</a>") == []


async def test_every_table_opens_in_the_frame(house: Any) -> None:
    """As a page, with names beside ids as data and as a file; rail, search box, no script or style of its own."""
    database = house.get_database("kitchen")
    names = {*await database.table_names(), *await database.view_names()} & known()
    assert len(names) > 100
    for name in sorted(names):
        page = await house.client.get(f"/kitchen/{name}")
        assert page.status_code == 200 and 'aria-label="Pages"' in page.text and 'role="search"' in page.text, name
        assert loose(page.text) == [], name
        for form in (".json?_labels=on&_size=1", ".csv?_labels=on&_size=1"):
            assert (await house.client.get(f"/kitchen/{name}{form}")).status_code == 200, (name, form)


async def test_the_list_leads_with_questions(house: Any) -> None:
    """Each with its title and description, before any table; tables by title, with their rows; the index' caution."""
    page = (await house.client.get("/kitchen")).text
    queries = (await house.client.get("/kitchen.json")).json()["queries"]
    assert len(queries) >= 8
    for query in queries:
        assert query["title"] in page and page.index(query["title"]) < page.index('id="tables"')
        assert f'action="/kitchen/{query["name"]}"' in page or not query.get("params")
    with sqlite3.connect(house.get_database("kitchen").path) as file:
        (rows,) = file.execute("select count(*) from deliveries").fetchone()
    assert f"{rows:,} rows" in page and "Deliveries, line by line" in page and "confirm with the chef" in page
    assert loose(page) == []


async def test_a_table_keeps_all_that_datasette_offers(house: Any) -> None:
    """Filters with what was chosen, order, counts by column, hidden columns, the next page, files in every shape."""
    at = "/kitchen/deliveries"
    asked = "door_temp_f__gt=41&_facet=supplier_id&_sort_desc=received_on&_nocol=note"
    page = (await house.client.get(f"{at}?{asked}")).text
    for wanted in (
        "door temp, °F more than <b>41</b>", 'value="41"', 'name="_filter_column_1"', 'name="_filter_op"',
        'name="_sort"', 'aria-sort="descending"',
        "_facet=kind", "_nocol=document", "Show all columns", "By supplier id", "stop counting by it",
        "_shape=array", "_nl=on", "_shape=object", 'name="_dl"', "How it is made", "create table deliveries",
        "delivery note or invoice number", "One row is one line of goods at the door.",
    ):  # fmt: skip
        assert wanted.lower() in page.lower(), wanted
    assert ">note</a></th>" not in page
    chosen = (await house.client.get(f"{at}?kind=goods&_facet=kind")).text
    assert 'aria-current="true"' in chosen and "take off" in chosen
    first = (await house.client.get(at)).text
    following = re.search(r'href="(/kitchen/deliveries\?_next=[^"]*)">Next 50 rows', first)
    assert following and "Showing 50 of" in first and 'name="_stream"' in first
    second = (await house.client.get(following[1])).text
    assert 'href="/kitchen/deliveries/51"' in second and 'href="/kitchen/deliveries/50"' not in second


async def test_a_filter_of_the_form_is_followed(house: Any) -> None:
    """As a browser sends it: a condition, an order, highest first."""
    sent = "_filter_column=received&_filter_op=isnull__1&_filter_value=&_sort=id&_sort_by_desc=on"
    answer = await house.client.get(f"/kitchen/deliveries?{sent}", follow_redirects=True)
    assert "received was not written" in answer.text and "by id, highest first" in answer.text


async def test_a_row_names_what_points_at_it(house: Any) -> None:
    """Each value beside its column and its note; the tables it stands in, by title, with their rows."""
    page = (await house.client.get("/kitchen/items/butter-salted")).text
    assert "Items: butter, salted" in page and "base unit it is kept in" in page and "nothing written" in page
    with sqlite3.connect(house.get_database("kitchen").path) as file:
        (rows,) = file.execute("select count(*) from components where item_id = 'butter-salted'").fetchone()
    assert f"{rows} rows, as item id" in page and "Lines of recipes" in page


async def test_names_stand_beside_ids(house: Any) -> None:
    """A recipe's line names its recipe and its item."""
    page = (await house.client.get("/kitchen/components")).text
    assert '<a href="/kitchen/recipes/' in page and '<a href="/kitchen/items/' in page


async def test_the_questions_agree_with_the_tables(house: Any) -> None:
    """Reckoned here once more from the logs themselves, row by row."""
    with sqlite3.connect(house.get_database("kitchen").path) as file:
        sold = file.execute("select recipe_id, sold_on, plates from standing_plates_sold").fetchall()
        names = dict(file.execute("select id, name from recipes").fetchall())
        lines = file.execute("select supplier, short, is_late, is_out_of_range from delivery_line").fetchall()
    shape = "_shape=array"
    url = f"/kitchen/plates_between.json?{shape}&first_day=2026-10-01&last_day=2026-10-31"
    october = {row["dish"]: row["plate_count"] for row in (await house.client.get(url)).json()}
    wanted: dict[str, int] = {}
    for recipe, day, plates in sold:
        if day.startswith("2026-10"):
            wanted[names[recipe]] = wanted.get(names[recipe], 0) + plates
    assert october == wanted and len(october) > 5
    for row in (await house.client.get(f"/kitchen/supplier_lines.json?{shape}")).json():
        mine = [line for line in lines if line[0] == row["supplier"]]
        assert row["line_count"] == len(mine) and row["late_count"] == sum(line[2] or 0 for line in mine)
        assert row["short_count"] == sum(1 for line in mine if line[1])
        assert row["measured_count"] == sum(1 for line in mine if line[3] is not None)
    outside = (await house.client.get(f"/kitchen/outside_the_rule.json?{shape}&_size=max")).json()
    assert len(outside) == sum(1 for line in lines if line[3] == 1) > 0


async def test_an_item_without_a_price_is_asked_for(house: Any, tmp_path: Path, demo_db: Path) -> None:
    """It appears once its prices are gone, and what a cut leaves does not."""
    from stillroom.loaders.commands import application

    assert (await house.client.get("/kitchen/unpriced_items.json?_shape=array")).json() == []
    path = tmp_path / "kitchen.db"
    with sqlite3.connect(demo_db) as source, sqlite3.connect(path) as copy:
        source.backup(copy)
        copy.execute("delete from price_quotes")
        copy.execute("drop trigger if exists deliveries_no_update")
        copy.execute("drop trigger if exists deliveries_no_delete")
        copy.execute("update deliveries set price = null where item_id = 'butter-salted'")
    copy.close()
    other = application(path)
    await other.invoke_startup()
    found = (await other.client.get("/kitchen/unpriced_items.json?_shape=array")).json()
    assert "butter, salted" in {row["item"] for row in found} and "mutton bones" not in {row["item"] for row in found}


async def test_files_hold_what_the_page_shortens(house: Any) -> None:
    """A price of many decimals is cut on the page and whole in the file."""
    text = (await house.client.get("/kitchen/moved_prices.csv")).text
    long = [cell for row in csv.reader(io.StringIO(text)) for cell in row if re.fullmatch(r"\d+\.\d{6,}", cell)]
    page = (await house.client.get("/kitchen/moved_prices")).text
    assert long and not re.search(r">\d+\.\d{5,}<", page)


@pytest.mark.parametrize("role", ["server", "cook", "station", "anonymous"])
async def test_others_see_none_of_it(staffed: Any, role: str) -> None:
    """No title, no count, no question in what they are answered."""
    for path in ("/kitchen", "/kitchen/items", "/kitchen/items/butter-salted", "/kitchen/moved_prices"):
        answer = await staffed.house.client.get(path, cookies=staffed.cookies[role])
        assert answer.status_code in {303, 403}
        assert "butter, salted" not in answer.text and "Questions, ready" not in answer.text


async def test_whoever_is_signed_in_stands_in_the_frame(staffed: Any) -> None:
    """By name, with the doors of the role: the chef has no list of people, the manager has."""
    for role, has_people in (("chef", False), ("manager", True)):
        page = (await staffed.house.client.get("/kitchen/items", cookies=staffed.cookies[role])).text
        assert f">{staffed.names[role]}</a>" in page and ('href="/people"' in page) is has_people
        assert '<a href="/kitchen" aria-current="page">Tables</a>' in page and "everyone here sees" not in page


async def test_markup_in_names_stays_text(tmp_path: Path) -> None:
    """A kitchen whose every name is markup: on tables, rows, questions and counts it is read, never run."""
    from stillroom.loaders.build import build
    from stillroom.loaders.commands import application

    path = tmp_path / "kitchen.db"
    assert build(Path(__file__).parents[2] / "data" / "hostile", path).errors == 0
    house = application(path)
    await house.invoke_startup()
    database = house.get_database("kitchen")
    with sqlite3.connect(path) as file:
        (item,) = file.execute("select id from items limit 1").fetchone()
    paths = [f"/kitchen/{name}" for name in await database.table_names() if name in known()]
    paths += ["/kitchen", f"/kitchen/items/{item}", "/kitchen/dishes_using?item=%3Cb", "/kitchen/items?_facet=name"]
    script = "%22%3E%3Cscript%3Ealert(1)%3C/script%3E"
    paths += [f"/kitchen/items?name={script}", f"/kitchen/dishes_using?item={script}"]
    seen = 0
    for at in paths:
        text = (await house.client.get(at)).text
        seen += "&lt;script" in text or "&lt;img" in text or "&lt;b&gt;" in text
        assert loose(text) == [], at
    assert seen > 5
