"""Who may see what: one table, one pure question. Whatever is not in the table is refused."""

from __future__ import annotations

import sqlite3
from functools import cache
from typing import Any

from stillroom.db.build import create

DATABASE = "kitchen"
HOUSEHOLD = "manager"

# Pages of our own, by the roles that may open them.
PAGES: dict[str, frozenset[str]] = {
    "home": frozenset({"server", "cook", "chef", "manager"}),
    "guest": frozenset({"server", "cook", "chef", "manager"}),
    "dish": frozenset({"server", "cook", "chef", "manager"}),
    "short": frozenset({"cook", "chef", "manager"}),
    "log": frozenset({"cook", "chef", "manager"}),
    "doneness": frozenset({"cook", "chef", "manager"}),
    "suppliers": frozenset({"chef", "manager"}),
    "read-change": frozenset({"chef", "manager"}),
    "cost": frozenset({"chef", "manager"}),
    "ageing": frozenset({"chef", "manager"}),
}
OFFICE = frozenset({"chef", "manager"})
NEVER = frozenset({"execute-sql", "view-database-download", "debug-menu", "permissions-debug"})
STOCK = frozenset({"view-instance", "view-database", "view-table", "view-query"})


def role_of(actor: dict[str, Any] | None) -> str:
    """The role of whoever asks. Until people have accounts everyone here is the household, as its manager."""
    return HOUSEHOLD if actor is None else str(actor.get("role", ""))


def decide(role: str, action: str, resource: Any = None) -> bool:
    """Whether a role may do something; never None, and no unless the tables above say yes.

    Args:
        role: 'server', 'cook', 'chef' or 'manager'; any other is refused.
        action: one of ours, or Datasette's.
        resource: what Datasette passes: a database's name, or (database, table or query).
    """
    if action in PAGES:
        return role in PAGES[action]
    if action in NEVER or action not in STOCK or role not in OFFICE:
        return False
    if action == "view-instance":
        return True
    database, name = resource if isinstance(resource, tuple | list) else (resource, None)
    return database == DATABASE and (action != "view-table" or name in known())


@cache
def known() -> frozenset[str]:
    """Tables and views that stillroom makes; any other in the file (a search index) stays hidden."""
    connection = sqlite3.connect(":memory:", isolation_level=None)
    try:
        create(connection)
        rows = connection.execute("select name from sqlite_master where type in ('table', 'view')")
        return frozenset(name for (name,) in rows if not name.startswith("sqlite_"))
    finally:
        connection.close()
