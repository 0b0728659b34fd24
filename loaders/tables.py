"""The kitchen's own files: every table a person may fill in, its columns, what each holds, and one example.

This list is the file format. The readers, the blank kitchen, the help and the error texts all come from it. A table is a
CSV file `NAME.csv` in the folder or a sheet NAME in the workbook; recipes may also be written as YAML, one or many to a
file, in the folder `recipes` (see `recipe_yaml.py`).
"""

from __future__ import annotations

from stillroom.loaders.table_shapes import Table
from stillroom.loaders.tables_book import BOOK
from stillroom.loaders.tables_log import LOGS
from stillroom.loaders.tables_stock import STOCK

SETTINGS = {  # kitchen.yaml, or the sheet `kitchen` with the columns setting and value
    "name": ("the kitchen's name", "The Staithe"),
    "regime": ("whose allergen list: US, EU, UK, CA, ANZ, CODEX_2024", "UK"),
    "food code": ("edition of the Food Code the kitchen follows", "2022"),
    "units": ("how quantities are shown: US, metric, or imperial with its pints and gallons", "US"),
    "counts": ("how a scaled recipe rounds pieces: fractions, halves, nearest or up", "fractions"),
    "currency": ("three letters, ISO 4217", "USD"),
    "decimal mark": (". or ,", "."),
    "date order": ("ISO, or how dates are written: day month year, or month day year", "ISO"),
    "time zone": ("IANA name", "Europe/London"),
    "day starts": ("when a new kitchen day begins, for service past midnight", "04:00"),
    "price basis": ("last delivery, average, first in first out, or quote", "last delivery"),
    "joint cost": ("how cuts from one piece share its cost: weight, or market value", "weight"),
    "average days": ("days that the average price looks back", "28"),
    "address": ("where goods are received, as a trace should name it", "1 Quay, Saltby"),
    "shellfish tags": ("from when the 90 days of a tag count: last served, harvested or emptied", "last served"),
    "breakdown tolerance": ("how far the outputs of a breakdown may miss its input before it is asked", "2 %"),
    "ready before opening": ("everything is ready so long before the doors open", "30 min"),
    "clock": ("only for a demonstration: the time of day it stands still at", ""),
    "today": ("only for a demonstration: the day the kitchen stands still at", ""),
}

TABLES: tuple[Table, ...] = (*STOCK, *BOOK, *LOGS)
BY_NAME = {table.name: table for table in TABLES}
