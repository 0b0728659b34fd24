"""The published figures in db/reference, put into their tables. The files hold them, with source and basis."""

from __future__ import annotations

import csv
import sqlite3
from collections.abc import Iterable, Iterator
from functools import cache
from importlib.resources import files

from stillroom.db.names import fold

Row = dict[str, str]

# Optional lists and rules of another kind stand in the regime's file under a mark.
NOT_LISTED = ("optional_", "_")


def reference_rows(name: str) -> list[Row]:
    """Rows of db/reference/NAME.csv, every value as text."""
    text = files("stillroom.db").joinpath("reference", f"{name}.csv").read_text("utf-8")
    return list(csv.DictReader(text.splitlines()))


def load_reference(connection: sqlite3.Connection) -> None:
    """Replaces every reference table with the files, inside the caller's transaction, foreign keys held to the end."""
    connection.execute("pragma defer_foreign_keys = on")
    for table, rows in _tables().items():
        connection.execute(f"delete from {table}")
        columns = _columns(connection, table)
        marks = ", ".join(f":{c}" for c in columns)
        statement = f"insert into {table} ({', '.join(columns)}) values ({marks})"
        connection.executemany(statement, [{c: row.get(c, _empty(c)) for c in columns} for row in rows])


@cache
def _tables() -> dict[str, list[dict[str, object]]]:
    """Table -> rows ready to insert; read once in a process."""
    return {
        "sources": _plain("sources"),
        "allergens": _plain("allergens", blank_is_null=("parent_id",)),
        "allergen_regimes": [_regime(row) for row in reference_rows("allergen_regimes")],
        "allergen_groups": _plain("allergen_groups"),
        "label_words": list(_numbered(_label_words())),
        "cooking_minimums": _plain("cooking_minimums"),
        "holding_rules": _plain("cooling_holding"),
        "lethality": list(_numbered(_lethality())),
        "doneness_bands": _plain("doneness"),
        "pathogens": _plain("pathogen_kinetics"),
        "thermal_properties": _plain("thermal_properties"),
        "reference_yields": list(_numbered(_renamed("yields", {"table_or_page": "place"}))),
        "reference_densities": list(_numbered(_plain("densities"))),
        "reference_cuts": list(_numbered(_lowered("cuts"))),
    }


NUMBERS = {
    "min_temp_f", "hold_seconds", "temp_f", "time_seconds", "low_f", "high_f", "temp_c", "value_low",
    "value_high", "a0", "a1", "a2", "temp_min_c", "temp_max_c", "water_pct", "yield_pct", "fat_pct", "time_s",
}  # fmt: skip
OPTIONAL_TEXT = {"g_per_us_cup", "g_per_tbsp", "g_per_tsp", "g_per_fl_oz", "g_each", "parent_id"}


def _plain(name: str, blank_is_null: Iterable[str] = ()) -> list[dict[str, object]]:
    return [_typed(row, set(blank_is_null)) for row in reference_rows(name)]


def _typed(row: Row, blank_is_null: set[str]) -> dict[str, object]:
    """Numbers as numbers, an empty number as unknown."""
    out: dict[str, object] = {}
    for key, text in row.items():
        if key in NUMBERS:
            out[key] = float(text) if text else None
        else:
            out[key] = None if not text and (key in OPTIONAL_TEXT or key in blank_is_null) else text
    return out


def _renamed(name: str, names: dict[str, str]) -> list[dict[str, object]]:
    return [{names.get(key, key): value for key, value in row.items()} for row in _plain(name)]


def _lowered(name: str) -> list[dict[str, object]]:
    return [{key.lower(): value for key, value in row.items()} for row in _plain(name)]


def _numbered(rows: Iterable[dict[str, object]]) -> Iterator[dict[str, object]]:
    for number, row in enumerate(rows, 1):
        yield {**row, "id": number}


def _regime(row: Row) -> dict[str, object]:
    code = row["allergen_code"]
    return {**row, "code": code, "is_listed": 0 if code.startswith(NOT_LISTED) else 1}


def _label_words() -> Iterator[dict[str, object]]:
    """Allergens by their own names, plain words, the hidden-allergen list; each word and allergen once."""
    seen: set[tuple[str, str, str]] = set()
    for row in (*_own_names(), *reference_rows("label_words"), *_hidden()):
        key = (fold(row["word"]), row["allergen_id"], row["presence"])
        if key not in seen:
            seen.add(key)
            yield {**row, "word": key[0]}


def _own_names() -> Iterator[Row]:
    """What an allergen is called, and is also called."""
    for row in reference_rows("allergens"):
        for word in (row["name"], *filter(None, (part.strip() for part in row["also_called"].split(";")))):
            yield {
                "word": word, "allergen_id": row["id"], "presence": "contains", "why": "names it",
                "source": row["source"], "basis": row["basis"],
            }  # fmt: skip


def _hidden() -> Iterator[Row]:
    """One row for each ingredient, allergen and presence of the hidden-allergen list."""
    for row in reference_rows("hidden_allergens"):
        for presence, column in (("contains", "contains"), ("may contain", "may_contain")):
            for allergen in filter(None, (part.strip() for part in row[column].split(";"))):
                yield {
                    "word": row["ingredient"], "allergen_id": allergen, "presence": presence, "why": row["why"],
                    "source": row["source_or_common_practice"], "basis": row["basis"],
                }  # fmt: skip


def _lethality() -> Iterator[dict[str, object]]:
    """Meat, poultry and patties in one table, a row for each temperature and target."""
    for row in reference_rows("lethality_meat"):
        for target in ("6_5", "7"):
            text = row[f"time_{target}_log_s"]
            if text:
                yield {**_lethal(row, "meat", text), "target": f"{target.replace('_', '.')} log"}
    for row in reference_rows("lethality_poultry"):
        yield {**_lethal(row, "poultry", row["time_s"]), "target": "7 log", "operator": row["operator"]}
    for row in reference_rows("lethality_patties"):
        yield {**_lethal(row, "patties", row["time_s"]), "target": row["target"]}


def _lethal(row: Row, product: str, seconds: str) -> dict[str, object]:
    return {
        "product": product,
        "species": row.get("species", ""),
        "fat_pct": float(row["fat_pct"]) if row.get("fat_pct") else None,
        "temp_f": float(row["temp_f"]),
        "time_s": float(seconds),
        "operator": "=",
        "edition": row.get("edition", ""),
        "basis": row["basis"],
        "source_id": row["source_id"],
        "note": row["note"],
    }


def _columns(connection: sqlite3.Connection, table: str) -> list[str]:
    return [name for (name,) in connection.execute("select name from pragma_table_info(?)", (table,))]


def _empty(column: str) -> object:
    return None if column in NUMBERS or column in OPTIONAL_TEXT else ""
