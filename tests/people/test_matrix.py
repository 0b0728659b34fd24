"""Every role, and nobody, against every address, table, view and format; and no figure of money to whom it is not."""

from __future__ import annotations

import csv
import io
import itertools
import re
import sqlite3
import zipfile
from collections.abc import AsyncIterator, Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from datasette.utils import tilde_encode
from stillroom.db.roles import ACTIONS
from stillroom.plugins.core.auth import known

ROLES = ("anonymous", "server", "cook", "station", "chef", "manager")
KEPT_OUT = ("anonymous", "server", "cook", "station")
# Written out by hand, not read from the program: who may open Datasette's own pages.
OFFICE = ("chef", "manager")
WALK = csv.DictReader((Path(__file__).parents[1] / "data" / "routes.csv").read_text("utf-8").splitlines())
ROWS = [row for row in WALK if not row["address"].endswith(".ics")]  # a feed's address is its key, whoever asks


class Caller:
    """Asks the house for pages as somebody."""

    def __init__(self, staffed: Any, client: httpx.AsyncClient) -> None:
        self.staffed, self.client, self.count = staffed, client, 0

    async def get(self, path: str, role: str, method: str = "GET", **more: Any) -> httpx.Response:
        """The answer to one request, with only that role's cookies."""
        self.count += 1
        self.client.cookies.clear()
        cookie = "; ".join(f"{name}={value}" for name, value in self.staffed.cookies[role].items())
        headers = {"cookie": cookie} if cookie else {}
        return await self.client.request(method, path, headers=headers | more.pop("headers", {}), **more)


@pytest.fixture
async def caller(staffed: Any) -> AsyncIterator[Caller]:
    """One connection to the whole application, headers and sign-in included."""
    transport = httpx.ASGITransport(app=staffed.house.app(), raise_app_exceptions=False)
    async with httpx.AsyncClient(transport=transport, base_url="http://127.0.0.1") as client:
        yield Caller(staffed, client)


def refused(answer: httpx.Response, role: str) -> bool:
    """Whether somebody was turned away: nobody to the door, others told so, and nothing else in it."""
    if role == "anonymous":
        is_door = answer.status_code == 303 and answer.headers["location"].startswith("/sign-in?next=%2F")
        return (is_door and not answer.content) or (answer.status_code == 401 and len(answer.content) < 100)
    return answer.status_code == 403


def variants(address: str, router: Any) -> Iterator[str]:
    """An address in each format that its route knows."""
    from datasette.utils import resolve_routes

    match, _ = resolve_routes(router, address)
    yield address
    for form in (".json", ".csv", ".xlsx"):
        again, _ = resolve_routes(router, address + form)
        if again is not None and again.re is match.re and _subject(again) == _subject(match) and "." not in address:
            yield address + form


def _subject(match: re.Match[str]) -> dict[str, str]:
    return {name: value for name, value in match.groupdict().items() if name != "kind"}


async def test_every_own_page_for_every_role(caller: Caller) -> None:
    """Who has the action gets an answer, the manager in every format; the others none in any, nor by HEAD."""
    router = caller.staffed.house._routes()
    wrong = []
    for row in ROWS:
        allowed = ACTIONS[row["action"]].roles
        for path, role in itertools.product(variants(row["address"], router), ROLES):
            if role in allowed - {"manager"} and path != row["address"]:
                continue  # whoever may is answered the same in each format, and some take a second
            answer = await caller.get(path, role)
            is_out = refused(answer, role)
            fits = (not is_out and answer.status_code in {200, 405}) if role in allowed else is_out
            if not fits:
                wrong.append((path, role, answer.status_code, answer.headers.get("location")))
        for role in set(ROLES) - allowed:
            answer = await caller.get(row["address"], role, "HEAD")
            wrong += [(row["address"], role, "HEAD")] if not refused(answer, role) else []
    assert not wrong
    assert caller.count > 500


async def test_nobody_posts_what_is_not_theirs(caller: Caller) -> None:
    """With a right token of the form and no right to the page: refused, whatever the form says.

    Who is nobody gets their own form back, and but for its address the same page from everywhere: it tells of nothing.
    """
    wrong, kept = [], set()
    for role in KEPT_OUT:
        page = await caller.get("/sign-in", role)
        token = page.cookies["ds_csrftoken"]
        for row in ROWS:
            if role in ACTIONS[row["action"]].roles:
                continue
            cookies = dict(caller.staffed.cookies[role], ds_csrftoken=token)
            head = {"cookie": "; ".join(f"{k}={v}" for k, v in cookies.items())}
            form = {"csrftoken": token, "do": "add"}
            answer = await caller.get(row["address"], role, "POST", headers=head, data=form)
            if role == "anonymous" and answer.status_code == 401 and "Your sign-in ended" in answer.text:
                page_of_all = answer.text.replace(f'action="{row["address"]}"', "")
                kept.add(re.sub(r'name="csrftoken" value="[^"]+"', "", page_of_all))
            elif not refused(answer, role):
                wrong.append((row["address"], role, answer.status_code))
    assert not wrong and len(kept) == 1


def _file(staffed: Any) -> dict[str, list[str]]:
    with sqlite3.connect(staffed.path) as file:
        names = [n for (n,) in file.execute("select name from sqlite_master where type in ('table', 'view')")]
        return {n: [c for (c,) in file.execute("select name from pragma_table_info(?)", (n,))] for n in names}


def _ways(table: str, columns: list[str], role: str) -> list[str]:
    """A table by every way Datasette has to ask for it: all for a server, the plain ones for the others."""
    at, first, last = f"/kitchen/{table}", columns[0], columns[-1]
    through = '{"table":"deliveries","column":"supplier_id","value":"saltby-dairy"}'
    each = [at, f"{at}.json", f"{at}.csv?_stream=1", f"{at}.json?_labels=on&_size=1", f"{at}/1.json"]
    odd = [
        f"{at}.json?_facet={first}&_size=1", f"{at}.json?_where=1=1", f"{at}.json?_through={through}",
        f"{at}.csv", f"{at}.jsono", f"{at}.json?_facet_array={last}", f"{at}.json?_search=butter",
        f"{at}.json?{first}__contains=a", f"{at}.json?_shape=array&_nl=on", f"{at}/1",
        f"{at}/1.json?_extras=foreign_key_tables", f"{at.upper()}.json", f"{at}.db",
    ]  # fmt: skip
    return [*each, *odd] if role == "server" else each


async def test_every_table_for_those_who_see_none(caller: Caller) -> None:
    """Every table and view of the file, those of SQLite and of a search index too, by every way of asking."""
    with sqlite3.connect(caller.staffed.path) as file:
        file.execute("create virtual table items_fts using fts5(name)")
    tables = _file(caller.staffed)
    assert len(tables) > 80 and "items_fts_content" in tables and "sqlite_sequence" in tables
    wrong = []
    for (table, columns), role in itertools.product(tables.items(), KEPT_OUT):
        for path in _ways(table, columns, role):
            answer = await caller.get(path, role)
            if not refused(answer, role) and answer.status_code != 404:
                wrong.append((path, role, answer.status_code))
    assert not wrong
    assert caller.count > 2500


async def test_every_table_for_the_office(caller: Caller) -> None:
    """Chef and manager read what stillroom makes, by every format; SQLite's own tables, an index and free SQL never."""
    with sqlite3.connect(caller.staffed.path) as file:
        file.execute("create virtual table items_fts using fts5(name)")
    wrong = []
    for table in _file(caller.staffed):
        ways = [(f"{table}.json?_size=1", 200), (f"{table}.csv?_size=1", 200), (f"{table}.json?_where=1=1", 403)]
        for (path, status), role in [*((way, "manager") for way in ways), (ways[0], "chef")]:
            answer = await caller.get(f"/kitchen/{path}", role)
            if answer.status_code != (status if table in known() else 403):
                wrong.append((path, role, answer.status_code))
    assert not wrong
    for role in OFFICE:
        for path in ("", ".json", "/items", "/moved_prices.json", "/suppliers/saltby-dairy"):
            assert (await caller.get(f"/kitchen{path}", role)).status_code == 200, path


async def test_every_table_opens_in_every_way(caller: Caller) -> None:
    """Its page, names in place of ids, counts by reference, its first row: the manager gets each."""
    wrong = []
    with sqlite3.connect(caller.staffed.path) as file:
        for table in sorted(known() & _file(caller.staffed).keys()):
            named = [row[3] for row in file.execute(f"pragma foreign_key_list([{table}])")]
            facets = "".join(f"&_facet={column}" for column in named)
            asked = f"_labels=on&_size=2{facets}"
            ways = [f"{table}?_size=2{facets}", f"{table}.json?{asked}", f"{table}.csv?_labels=on&_size=2"]
            first = (await caller.get(f"/kitchen/{table}.json?_size=1&_shape=objects", "manager")).json()
            keys = first["primary_keys"]
            if first["rows"] and keys:
                row = ",".join(tilde_encode(str(first["rows"][0][key])) for key in keys)
                ways += [f"{table}/{row}", f"{table}/{row}.json?_extras=foreign_key_tables"]
            for path in ways:
                answer = await caller.get(f"/kitchen/{path}", "manager")
                wrong += [(path, answer.status_code)] if answer.status_code != 200 else []
    assert not wrong
    assert caller.count > 300


@pytest.mark.parametrize("role", ROLES)
async def test_the_works_for_every_role(caller: Caller, role: str) -> None:
    """Free SQL, the file, the in-memory databases, Datasette's pages about itself: for nobody at all."""
    for path in (
        "/kitchen.json?sql=select+1", "/kitchen?sql=select+1", "/kitchen.csv?sql=select+*+from+deliveries",
        "/kitchen.db", "/_memory", "/_memory.json?sql=select+1", "/_internal", "/_internal/databases.json", "/:memory:",
        "/Kitchen.json",
        "/kitchen/items.json?_where=price>1", "/people.db", "/kitchen.people.db",
    ):  # fmt: skip
        status = (await caller.get(path, role)).status_code
        assert status in {301, 302, 303, 401, 403, 404}, path
    works = (
        "metadata metadata.json settings.json plugins.json versions.json databases.json threads actor.json permissions"
        " allow-debug messages patterns auth-token logout config"
    )
    for name in works.split():
        assert (await caller.get(f"/-/{name}", role)).status_code == 404, name


@pytest.mark.parametrize("role", KEPT_OUT)
async def test_prepared_questions_are_the_offices(caller: Caller, role: str) -> None:
    """In every format, with and without their parameters."""
    import yaml

    said = yaml.safe_load((Path(__file__).parents[2] / "metadata.yaml").read_text("utf-8"))
    queries = said["databases"]["kitchen"]["queries"]
    assert len(queries) >= 3
    forms = ("", ".json", ".csv", ".json?item=a", ".csv?_stream=1", "?_hide_sql=1")
    for name, form in itertools.product(queries, forms):
        assert refused(await caller.get(f"/kitchen/{name}{form}", role), role), (name, form)


# Sums of money in the house are made so large that whatever is computed from them has nine digits or more; no weight,
# count, time or temperature of the demonstration has.
FAR = "7654321987"
MONEY = {
    "deliveries": ("price",), "price_quotes": ("price",), "recipes": ("menu_price", "market_price"),
    "by_products": ("credit_price",), "trial_versions": ("price",),
    "ageing_lots": ("price",), "plates_sold": ("sales",),
    "suppliers": ("minimum_order",),
}  # fmt: skip
MAY_BE_EMPTY = {("recipes", "market_price"), ("trial_versions", "price")}
TERMS = ("contact", "phone", "email", "order_by", "note")
WORDS = "(?<!un)price|cost|credit|margin|wage|minimum_order|sales|currency|paid|worth|spend|target_pct"
KEYS = re.compile(rf'"[a-z_]*(?:{WORDS})[a-z_]*"\s*:')


def _plant(path: Path) -> None:
    """Money that nobody can miss, and suppliers' terms likewise."""
    with sqlite3.connect(path) as file:
        for table, columns in MONEY.items():
            for column in columns:
                sql = f"update {table} set {column} = ? where {column} is not null"
                changed = file.execute(sql, (FAR,)).rowcount
                assert changed or (table, column) in MAY_BE_EMPTY, (table, column)
        for column in TERMS:
            file.execute(f"update suppliers set {column} = ?", (f"CANARY {column}",))


def test_the_schema_has_no_money_that_is_not_planted(staffed: Any) -> None:
    """A new column of money stands in the list above, or this fails."""
    words = re.compile(r"price|cost|credit|sales|minimum_order|wage|paid")
    fine = {"credits", "target_cost_pct", "target_cost", "is_credit", "priced_quantity"}
    found = {(t, c) for t, columns in _file(staffed).items() for c in columns if words.search(c)}
    tables = {(t, c) for t, c in found if not t.startswith("standing_") and c not in fine and "view" not in t}
    views = {"delivery_line", "item_price_history", "product_price_move"}
    ours = {(t, c) for t, columns in MONEY.items() for c in columns}
    assert {pair for pair in tables if pair[0] not in views} == ours


def _text(answer: httpx.Response) -> str:
    if answer.content[:2] != b"PK":
        return answer.text
    with zipfile.ZipFile(io.BytesIO(answer.content)) as book:
        parts = [name for name in book.namelist() if name.endswith(".xml")]
        return "\n".join(book.read(name).decode("utf-8", "replace") for name in parts)


def _subjects(path: Path) -> dict[str, list[str]]:
    with sqlite3.connect(path) as file:
        dishes = [i for (i,) in file.execute("select id from recipes where kind = 'dish'")]
        recipes = [i for (i,) in file.execute("select id from recipes order by id")]
        items = [i for (i,) in file.execute("select id from items order by id")]
    return {"/dish/": dishes, "/recipe/": recipes, "/short/": items[::16]}


@pytest.mark.parametrize("role", ["server", "cook", "station"])
async def test_no_page_tells_money_or_terms_to_the_floor(caller: Caller, role: str) -> None:
    """Every page they may open, of every dish and recipe, in every format: no sum, no key of one, no term."""
    _plant(caller.staffed.path)
    router = caller.staffed.house._routes()
    mine = [row["address"] for row in ROWS if role in ACTIONS[row["action"]].roles]
    heads = tuple(address.rpartition("/")[0] + "/" for address in mine)
    paths = list(itertools.chain.from_iterable(variants(address, router) for address in mine))
    for head, subjects in _subjects(caller.staffed.path).items() if role != "station" else ():
        paths += [f"{head}{one}.json" for one in subjects if head in heads]
    leaks = []
    paths += ["/guest.json?avoid=milk", "/search.json?q=butter", "/search?q=price", "/nothing.json"]
    for path in paths:
        text = _text(await caller.get(path, role))
        digits = re.sub(r"(?<=\d)[,\u00a0\u202f](?=\d{3}(?!\d))", "", re.sub(r"[0-9a-f-]{32,}", "", text))
        sums = FAR if path.endswith(".xlsx") else r"7654321|(?<![\w.-])\d{9,}"
        found = [*KEYS.findall(text), *re.findall(r"CANARY \w+", text), *re.findall(sums, digits)]
        leaks += [(path, set(found))] if found else []
    assert not leaks


async def test_the_plants_are_seen_where_they_may_be(caller: Caller) -> None:
    """The search itself finds money on the office's pages: were it blind, the test above would be too."""
    _plant(caller.staffed.path)
    for path in ("/suppliers/saltby-dairy.json", "/cost.json", "/menu.json"):
        text = _text(await caller.get(path, "manager"))
        assert KEYS.search(text), path
        assert re.search(r"7654321|\d{9,}", re.sub(r"(?<=\d)[,.](?=\d)", "", text)), path
