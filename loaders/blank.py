"""An empty kitchen: every table with its header, a note on each column, and one example that is not read."""

from __future__ import annotations

import csv
from pathlib import Path

from stillroom.loaders.table_shapes import Table
from stillroom.loaders.tables import SETTINGS, TABLES

EXAMPLE_RECIPE = """\
# One recipe; take the marks away and make it yours. Several to a file are parted by a line of three dashes.
# name: Brown butter
# kind: sub-recipe
# yield: 400 g
# shelf life: 7 days
# components:
#   - 500 g butter, salted
# method:
#   - Cook until the milk solids are the colour of hazelnuts. Strain.
"""
EXAMPLE_PRICE_LIST = """\
# How to read one supplier's own price list, which lies beside this file as they sent it; take the marks away.
# file: saltby-2026-11.csv
# supplier: Saltby Dairy
# date: 2026-11-02
# columns:                  # ours on the left, the supplier's header on the right
#   product: Item Desc
#   code: SKU
#   pack: Pack Size
#   price: Unit Price
# price per: pack           # where no column says it: pack, or a unit
# currency sign: "£"        # taken off the prices
"""


def is_filled_in(table: Table) -> bool:
    """Whether people write a table; the others are stillroom's own."""
    return not table.is_own


def write_folder(folder: Path) -> None:
    """A folder with kitchen.yaml, one CSV for each table, recipes/ and price_lists/."""
    folder.mkdir(parents=True, exist_ok=True)
    lines = [f"# {name}: {example}   # {note}" for name, (note, example) in SETTINGS.items() if example]
    (folder / "kitchen.yaml").write_text("\n".join(["name: My kitchen", *lines]) + "\n", "utf-8")
    (folder / "recipes").mkdir()
    (folder / "recipes" / "example.yaml").write_text(EXAMPLE_RECIPE, "utf-8")
    (folder / "price_lists").mkdir()
    (folder / "price_lists" / "example.yaml").write_text(EXAMPLE_PRICE_LIST, "utf-8")
    for table in filter(is_filled_in, TABLES):
        with (folder / f"{table.name.replace(' ', '_')}.csv").open("w", encoding="utf-8", newline="") as file:
            csv.writer(file, lineterminator="\n").writerows(_rows(table))


def write_workbook(path: Path) -> None:
    """One workbook with a sheet for each table."""
    import xlsxwriter

    with xlsxwriter.Workbook(str(path)) as book:
        sheet = book.add_worksheet("kitchen")
        rows = [["setting", "value"], *([f"# {n}", e] for n, (_, e) in SETTINGS.items() if e)]
        for number, row in enumerate(rows):
            sheet.write_row(number, 0, row)
        for table in filter(is_filled_in, TABLES):
            sheet = book.add_worksheet(table.name)
            for number, row in enumerate(_rows(table)):
                for column, text in enumerate(row):
                    sheet.write_string(number, column, text)
            sheet.freeze_panes(1, 1)


def _rows(table: Table) -> list[list[str]]:
    """Header, then rows that begin with # and are passed over: what each column is, and an example."""
    notes = [f"{'needed: ' if c.required else ''}{c.note}" for c in table.columns]
    examples = [c.example for c in table.columns]
    return [[c.name for c in table.columns], [f"# {notes[0]}", *notes[1:]], [f"# {examples[0]}", *examples[1:]]]
