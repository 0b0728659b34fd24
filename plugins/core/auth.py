"""Who may see what: one table, one pure question. Whatever is not in the table is refused."""

from __future__ import annotations

from typing import Any

DATABASE = "kitchen"
HOUSEHOLD = "household"

# Pages of our own, by the roles that may open them.
PAGES: dict[str, frozenset[str]] = {
    "home": frozenset({"server", "cook", "chef", "manager"}),
    "guest": frozenset({"server", "cook", "chef", "manager"}),
    "dish": frozenset({"server", "cook", "chef", "manager"}),
    "short": frozenset({"cook", "chef", "manager"}),
    "suppliers": frozenset({"chef", "manager"}),
    "read-change": frozenset({"chef", "manager"}),
}
OFFICE = frozenset({"chef", "manager"})
NEVER = frozenset({"execute-sql", "view-database-download", "debug-menu", "permissions-debug"})
STOCK = frozenset({"view-instance", "view-database", "view-table", "view-query"})


def role_of(actor: dict[str, Any] | None) -> str:
    """The role of whoever asks. Until people have accounts everyone on this machine is the household, as its manager."""
    return "manager" if actor is None else str(actor.get("role", ""))


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
    database = resource[0] if isinstance(resource, tuple | list) else resource
    return action == "view-instance" or database == DATABASE
