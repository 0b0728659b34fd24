"""Who may see what: every role against every question, and every registered address as somebody with no role."""

from __future__ import annotations

from typing import Any

import pytest
from stillroom.plugins.core.auth import HOUSEHOLD, PAGES, decide, is_household, known, role_of

ROLES = ("server", "cook", "station", "chef", "manager", "anonymous")
NOBODY = ("", "guest", "owner", "Manager", "manager ", "root", "household")
# What each role may do, written out by hand: the table in db/roles.py is held against it.
TABLE = {"sign-in", "account", "home", "guest", "dish", "recipe", "search", "calendar"}
BOARD = TABLE | {"short", "doneness", "prep", "labels", "log", "trace", "taste", "reviews"}
CHEF = BOARD | {
    "trials", "undo-any", "read-change", "ageing", "money", "cost", "orders", "suppliers", "tables",
    "backups",
}  # fmt: skip
MAY = {
    "anonymous": {"sign-in"}, "server": TABLE, "cook": BOARD, "station": BOARD - {"calendar"}, "chef": CHEF,
    "manager": CHEF | {"people"},
}  # fmt: skip
STOCK = ("view-instance", "view-database", "view-table", "view-query")
NEVER = ("execute-sql", "view-database-download", "debug-menu", "permissions-debug", "insert-row", "drop-table", "")


@pytest.mark.parametrize("role", ROLES)
def test_each_role_opens_its_pages_and_no_other(role: str) -> None:
    """The whole matrix of roles and own pages."""
    assert {action for action in PAGES if decide(role, action)} == MAY[role]


@pytest.mark.parametrize("role", ROLES)
@pytest.mark.parametrize("action", STOCK)
def test_tables_are_for_chef_and_manager(role: str, action: str) -> None:
    """Prices stand in tables and canned queries; servers and cooks see neither."""
    resource = {"view-instance": None, "view-database": "kitchen"}.get(action, ("kitchen", "deliveries"))
    assert decide(role, action, resource) is (role in {"chef", "manager"})


@pytest.mark.parametrize("role", [*ROLES, *NOBODY])
@pytest.mark.parametrize("action", NEVER)
def test_nobody_writes_sql_or_sees_the_works(role: str, action: str) -> None:
    """Free SQL reads everything; no role has it, nor an action that is not in the table."""
    assert decide(role, action, "kitchen") is False


@pytest.mark.parametrize("role", NOBODY)
def test_whoever_is_not_in_the_table_sees_nothing(role: str) -> None:
    """Unknown roles are refused every page and every stock action."""
    assert not any(decide(role, action, ("kitchen", "items")) for action in [*PAGES, *STOCK])


@pytest.mark.parametrize("name", ["sqlite_master", "sqlite_sequence", "items_fts", "ITEMS", "item_s", "users", ""])
def test_tables_that_stillroom_does_not_make_stay_hidden(name: str) -> None:
    """A search index is a table: it would show what its source hides."""
    assert not decide("manager", "view-table", ("kitchen", name))


@pytest.mark.parametrize("database", ["_internal", "_memory", "Kitchen", "users"])
def test_other_databases_stay_hidden(database: str) -> None:
    """Only the kitchen's own file is shown."""
    for action in ("view-database", "view-table", "view-query"):
        assert not decide("manager", action, (database, "items") if action != "view-database" else database)


def test_known_holds_tables_log_views_and_named_views() -> None:
    """The list of what may be seen comes from the schema itself."""
    assert {"items", "deliveries", "standing_deliveries", "delivery_line"} <= known()
    assert not [name for name in known() if name.startswith("sqlite_")]


def test_an_actor_without_a_role_is_nobody() -> None:
    """Somebody signed in without a role has none; without anybody it is nobody, who may only sign in."""
    assert role_of({"id": "x"}) == "" and role_of({"role": "cook"}) == "cook" and role_of(None) == "anonymous"
    assert role_of(HOUSEHOLD) == "manager" and is_household(HOUSEHOLD) and not is_household({"name": "household"})


class Stranger:
    """A request for an address by somebody logged in whom no table names."""

    def __init__(self, path: str, url_vars: dict[str, str]) -> None:
        self.path, self.url_vars, self.method, self.actor = path, url_vars, "GET", {"id": "x", "role": "stranger"}
        self.args: dict[str, str] = {}
        self.scope = {"type": "http", "path": path, "headers": []}
        self.cookies: dict[str, str] = {}


async def test_every_address_of_our_own_refuses_strangers(house: Any) -> None:
    """Datasette checks nothing for plugin routes, so each is walked; a new one without `page` fails here."""
    from datasette.plugins import pm

    routes = [(r, view) for hook in pm.hook.register_routes(datasette=house) for r, view in hook]
    ours = [(r, view) for r, view in routes if view.__module__.startswith("stillroom.")]
    assert len(ours) >= 8
    for regex, view in ours:
        if regex.endswith(r"\.ics$"):
            continue  # a calendar program signs in nowhere: the address is the secret, see tests/plugins/formats
        url_vars = {"dish": "x", "item": "x", "supplier": "x", "kind": "json"}
        answer = await view(house, Stranger("/x.json", url_vars))
        assert answer.status == 403, regex


async def test_a_cook_gets_neither_tables_nor_suppliers(house: Any) -> None:
    """The same through the front door, signed in."""
    cookies = {"ds_actor": house.sign({"a": {"id": "ann", "role": "cook"}}, "actor")}
    for path in (
        "/kitchen",
        "/kitchen/items.json",
        "/kitchen/delivery_line.csv",
        "/kitchen/moved_prices.json",
        "/suppliers.json",
    ):
        assert (await house.client.get(path, cookies=cookies)).status_code == 403, path
    home = await house.client.get("/today.json", cookies=cookies)
    assert home.status_code == 200 and home.json()["late"] is None and home.json()["may"]["suppliers"] is False
