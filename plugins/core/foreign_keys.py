"""Foreign keys that name no column (`references items`) point at the other table's key: Datasette 0.65 fails there."""

from __future__ import annotations

import sqlite3
from typing import Any

from datasette.utils import detect_primary_keys, get_all_foreign_keys, get_outbound_foreign_keys

Keys = dict[str, Any]


def of_table(connection: sqlite3.Connection, table: str) -> list[Keys]:
    """Where the columns of a table point: column, other_table, other_column."""
    return [_named(connection, key) for key in get_outbound_foreign_keys(connection, table)]


def of_all(connection: sqlite3.Connection) -> dict[str, dict[str, list[Keys]]]:
    """Table -> incoming and outgoing, as Datasette lists them, with every column named."""
    found: dict[str, dict[str, list[Keys]]] = get_all_foreign_keys(connection)
    for table, keys in found.items():
        keys["outgoing"] = [_named(connection, key) for key in keys["outgoing"]]
        keys["incoming"] = [{**key, "column": key["column"] or _key(connection, table)} for key in keys["incoming"]]
    return found


def _named(connection: sqlite3.Connection, key: Keys) -> Keys:
    return {**key, "other_column": key["other_column"] or _key(connection, key["other_table"])}


def _key(connection: sqlite3.Connection, table: str) -> str:
    return next(iter(detect_primary_keys(connection, table)), "rowid")


def complete(database: Any) -> None:
    """Makes a database of Datasette's answer with every column named."""

    async def for_table(table: str) -> list[Keys]:
        found: list[Keys] = await database.execute_fn(lambda connection: of_table(connection, table))
        return found

    async def for_all() -> dict[str, dict[str, list[Keys]]]:
        found: dict[str, dict[str, list[Keys]]] = await database.execute_fn(of_all)
        return found

    database.foreign_keys_for_table, database.get_all_foreign_keys = for_table, for_all
