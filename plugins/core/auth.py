"""Who may see what: one pure question, asked of the table in `db.roles`. Whatever is not in the table is refused."""

from __future__ import annotations

import sqlite3
from functools import cache
from typing import Any

from stillroom.db.build import create
from stillroom.db.roles import ACTIONS, NOBODY, may

DATABASE = "kitchen"
# Before anybody has an account, whoever sits at this machine is the household, with a manager's rights.
HOUSEHOLD: dict[str, Any] = {"id": "household", "name": "household", "role": "manager"}

# Pages of our own, by the roles that may open them.
PAGES: dict[str, frozenset[str]] = {name: action.roles for name, action in ACTIONS.items()}
NEVER = frozenset({"execute-sql", "view-database-download", "debug-menu", "permissions-debug"})
STOCK = frozenset({"view-instance", "view-database", "view-table", "view-query"})


def role_of(actor: dict[str, Any] | None) -> str:
    """The role of whoever asks; without an actor it is nobody, who may only sign in."""
    return NOBODY if actor is None else str(actor.get("role", ""))


def is_household(actor: dict[str, Any] | None) -> bool:
    """Whether nobody has an account yet, so that whoever asks may see everything."""
    return actor is not None and actor.get("id") == HOUSEHOLD["id"]


def decide(role: str, action: str, resource: Any = None) -> bool:
    """Whether a role may do something; never None, and no unless the table says yes.

    Args:
        role: 'server', 'cook', 'station', 'chef', 'manager' or 'anonymous'; any other is refused.
        action: one of ours, or Datasette's.
        resource: what Datasette passes: a database's name, or (database, table or query).
    """
    if action in PAGES:
        return role in PAGES[action]
    if action in NEVER or action not in STOCK or not may(role, "tables"):
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
