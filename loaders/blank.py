"""An empty kitchen: every table with its header, a note on each column, and one example that is not read."""

from __future__ import annotations

import csv
from pathlib import Path

from stillroom.db.kitchen import DEFAULTS
from stillroom.loaders.blank_examples import FIRST, MORE, PRICE_LIST, RECIPE
from stillroom.loaders.table_shapes import Table
from stillroom.loaders.tables import SETTINGS, TABLES

FIRST_CHOSEN = ("regime", "units", "currency", "time zone")
CHOOSE = "# Choose these first: the allergens that guests are answered by, and how you weigh, pay and tell the time."
TAKE_AWAY = "# The rest may stay as it is; take a mark away to say it otherwise."


def is_filled_in(table: Table) -> bool:
    """Whether people write a table; the others are stillroom's own."""
    return not table.is_own


def write_folder(folder: Path) -> None:
    """A folder with kitchen.yaml, one CSV for each table, recipes/ and price_lists/."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "kitchen.yaml").write_text("\n".join(_settings()) + "\n", "utf-8")
    (folder / "recipes").mkdir()
    (folder / "recipes" / "example.yaml").write_text(RECIPE, "utf-8")
    (folder / "price_lists").mkdir()
    (folder / "price_lists" / "example.yaml").write_text(PRICE_LIST, "utf-8")
    for table in filter(is_filled_in, TABLES):
        with (folder / f"{table.name.replace(' ', '_')}.csv").open("w", encoding="utf-8", newline="") as file:
            csv.writer(file, lineterminator="\n").writerows(_rows(table))


def write_workbook(path: Path) -> None:
    """One workbook with a sheet for each table."""
    import xlsxwriter

    with xlsxwriter.Workbook(str(path)) as book:
        sheet = book.add_worksheet("kitchen")
        rows = [["setting", "value"], ["name", "My kitchen"], *([name, DEFAULTS[name]] for name in FIRST_CHOSEN)]
        rows += [[f"# {name}", example] for name, example in _usual()]
        for number, row in enumerate(rows):
            sheet.write_row(number, 0, row)
        for table in filter(is_filled_in, TABLES):
            sheet = book.add_worksheet(table.name)
            for number, row in enumerate(_rows(table)):
                for column, text in enumerate(row):
                    sheet.write_string(number, column, text)
            sheet.freeze_panes(1, 1)


def _settings() -> list[str]:
    """The lines of kitchen.yaml: what a kitchen must choose stands open, the rest behind a mark."""
    chosen = [f"{name}: {DEFAULTS[name]}   # {SETTINGS[name][0]}" for name in FIRST_CHOSEN]
    usual = [f"# {name}: {example}   # {SETTINGS[name][0]}" for name, example in _usual()]
    return ["name: My kitchen", CHOOSE, *chosen, TAKE_AWAY, *usual]


def _usual() -> list[tuple[str, str]]:
    """Settings that a kitchen may leave as they are, with an example."""
    chosen = {"name", *FIRST_CHOSEN}
    return [(name, example) for name, (_, example) in SETTINGS.items() if example and name not in chosen]


def _rows(table: Table) -> list[list[str]]:
    """Header, then rows that begin with # and are passed over: what each column is, and one example or a few."""
    notes = [f"{'needed: ' if c.required else ''}{c.note}" for c in table.columns]
    first = {c.name: c.example for c in table.columns} | FIRST.get(table.name, {})
    examples = [[row.get(c.name, "") for c in table.columns] for row in (first, *MORE.get(table.name, ()))]
    return [[c.name for c in table.columns], *([f"# {cells[0]}", *cells[1:]] for cells in (notes, *examples))]
