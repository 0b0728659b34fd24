"""What people wrote down, written out: every row with who wrote it, when, under which request, and what it voids.

Made from the lists that the log reader itself goes by (`tables_log.py`, `log_fields.py`): a column that is added there
is written here. What a row says of other rows goes by their request ids.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path

from stillroom.loaders.dump_house import House, text, yes
from stillroom.loaders.dump_text import Row, write_rows
from stillroom.loaders.log_fields import COMMON, FIELDS, NOT_KNOWN
from stillroom.loaders.merge import NAMED, REFERS
from stillroom.loaders.table_shapes import Column, Table
from stillroom.loaders.tables import TABLES

Write = Callable[[sqlite3.Row], str]
RECORDED = "recorded at"
LOGS = tuple(table for table in TABLES if table.is_log)


def write_logs(house: House, folder: Path) -> tuple[int, int]:
    """Every log that has rows; how many files and rows."""
    files = written = 0
    for table in LOGS:
        name = table.name.replace(" ", "_")
        if not house.rows(f"select 1 from {name} limit 1"):
            continue
        headers = [RECORDED, "request id", *(c.name for c in table.columns if c.name not in {RECORDED, "request id"})]
        written += write_rows(folder / f"{name}.csv", headers, rows_of(house, table))
        files += 1
    return files, written


def rows_of(house: House, table: Table) -> Iterator[Row]:
    """The rows of a log in their order, as the files say them."""
    name = table.name.replace(" ", "_")
    writers = {column.name: writer(house, table, column) for column in table.columns}
    for row in house.connection.execute(_question(name)):
        yield {header: write(row) for header, write in writers.items()}


def _question(name: str) -> str:
    """A log with what its rows say of others: request ids, and the lot of a batch where it means that batch."""
    said = [f"(select other.request_id from {name} as other where other.id = entry.voids) as voids_said"]
    for column, header, other in REFERS.get(name, ()):
        found = f"select other.request_id from {other} as other where other.id = entry.{column}"
        if header == "lot_said":
            found = f"""
                select case when other.lot_code <> '' and other.recipe_id = entry.recipe_id and other.id = (
                    select max(same.id) from batches as same
                    where same.lot_code = other.lot_code and same.recipe_id = other.recipe_id
                ) then other.lot_code else '{NAMED}' || other.request_id || ']' end
                from batches as other where other.id = entry.{column}
            """
        said.append(f"({found}) as {header}")
    return f"select entry.*, {', '.join(said)} from {name} as entry order by entry.id"


def writer(house: House, table: Table, column: Column) -> Write:
    """How one column of the files is written from a row of the log.

    Raises:
        KeyError: no field reads this header.
    """
    special = SPECIAL.get((table.name, column.name))
    if special is not None:
        return lambda row: special(house, row)
    if column.name == "request id":
        return lambda row: str(row["request_id"])
    fields = [f.column for f in (*FIELDS[table.name], *COMMON) if f.leads == column.name and f.column != "unit"]
    if not fields:
        raise KeyError(f"nothing reads the column {column.name} of {table.name}")
    if column.kind == "ref":
        return _reference(house, column, fields)
    kept, kind = fields[0], KINDS.get(column.kind)
    if kind is None:
        return lambda row: text(row[kept])
    return lambda row: kind(house, row, kept)


def _reference(house: House, column: Column, fields: list[str]) -> Write:
    """A name, for each table that the column may name and the database column that holds its id."""
    tables = ["items", "recipes"] if len(fields) == 2 else column.to.split(" or ")

    def write(row: sqlite3.Row) -> str:
        unit = row["unit"] if "unit" in row.keys() else ""  # noqa: SIM118  (a Row is no mapping)
        for place, field in enumerate(fields):
            if row[field] is not None:
                options = tables[place : place + 1] if len(fields) == 2 else tables
                known = next((t for t in options if row[field] in house.names[t]), options[0])
                return house.reference(known, row[field], unit if known in house.units else "")
        return ""

    return write


def _quantity(house: House, row: sqlite3.Row, column: str) -> str:
    unit = row["unit"] if "unit" in row.keys() else "g"  # noqa: SIM118
    return house.quantity(row[column], unit)


KINDS: dict[str, Callable[[House, sqlite3.Row, str], str]] = {
    "quantity": _quantity,
    "temperature": lambda house, row, column: house.real(row[column], "°F"),
    "number": lambda house, row, column: house.number(row[column]),
    "money": lambda house, row, column: house.money(row[column]),
    "percent": lambda house, row, column: house.real(row[column], "%"),
    "length": lambda house, row, column: house.real(row[column], "cm"),
    "list": lambda _, row, column: "; ".join(part for part in str(row[column]).split(";") if part),
    "yes": lambda _, row, column: "" if row[column] else yes(0),
}


def _product(house: House, row: sqlite3.Row) -> str:
    """A product by its name among its supplier's, or by its id where the name means another or none."""
    if row["product_id"] is None:
        return ""
    found = house.rows(
        "select p.name from products as p where p.id = ? and p.item_id = ? and p.supplier_id = ? and not exists"
        " (select 1 from products as o where o.supplier_id = p.supplier_id and o.id <> p.id and"
        " lower(o.name) = lower(p.name))", row["product_id"], row["item_id"], row["supplier_id"],
    )  # fmt: skip
    return str(found[0]["name"]) if found else f"[product {row['product_id']}]"


def _price_per(house: House, row: sqlite3.Row) -> str:
    if row["price"] is None:
        return ""
    return house.quantity(row["priced_quantity"], row["unit"]) or NOT_KNOWN


def _promoted(house: House, row: sqlite3.Row) -> str:
    return house.names["recipes"].get(row["dish_id"], str(row["dish_id"]))


SPECIAL: dict[tuple[str, str], Callable[[House, sqlite3.Row], str]] = {
    ("deliveries", "product"): _product,
    ("order lines", "product"): _product,
    ("deliveries", "price per"): _price_per,
    ("promotions", "dish"): _promoted,
    ("trial versions", "trial"): lambda _, row: str(row["trial"]),
    ("promotions", "trial"): lambda _, row: str(row["trial"]),
}
