"""From a kitchen's files to its database: read, check everything, then write all of it or nothing."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from stillroom.db.build import create
from stillroom.db.connect import open_kitchen, transaction
from stillroom.db.cook_units import COUNTS
from stillroom.db.date_marks import TAG_CLOCKS
from stillroom.db.kitchen import DEFAULTS
from stillroom.db.migrate import bring_up
from stillroom.db.problems import Problem, quoted
from stillroom.db.promotions import Unread, problems_of
from stillroom.db.quantity import DATE_ORDERS, ReadError, read_clock, read_date, read_share, read_span
from stillroom.db.reference_data import load_reference
from stillroom.loaders.asked_prices import load_price_lists
from stillroom.loaders.backup import keep_before
from stillroom.loaders.book import load_book
from stillroom.loaders.hold import held
from stillroom.loaders.label_check import check_labels
from stillroom.loaders.line_check import check_lines
from stillroom.loaders.logs import load_logs, register_trials
from stillroom.loaders.odd_prices import check_prices
from stillroom.loaders.photos import kept_photos
from stillroom.loaders.publish import derive, publish
from stillroom.loaders.read import Load
from stillroom.loaders.recipe_names import kept_names, register_recipes
from stillroom.loaders.source import Source, read_source
from stillroom.loaders.stage import Stage
from stillroom.loaders.stock import load_measures, load_products, load_reference_names, load_stock

Tell = Callable[[str], None]
CACHE_KB = 28_000
CLOSED = {
    "regime": ("US", "EU", "UK", "CA", "ANZ", "CODEX_2024", "CODEX_1999"),
    "units": ("US", "metric", "imperial"),
    "counts": COUNTS,
    "decimal mark": (".", ","),
    "date order": DATE_ORDERS,
    "joint cost": ("weight", "market value"),
    "price basis": ("last delivery", "average", "first in first out", "quote"),
    "shellfish tags": TAG_CLOCKS,
}


@dataclass(frozen=True)
class Result:
    """What a load came to: problems, rows written (0 on any error), and how many dishes' allergens changed."""

    problems: list[Problem]
    rows: int = 0
    changed_dishes: int = 0

    @property
    def errors(self) -> int:
        return sum(p.severity == "error" for p in self.problems)


def silent(_: str) -> None:
    """Progress that nobody watches."""


def check(path: Path, tell: Tell = silent) -> Load:
    """Reads and checks a kitchen's files; `problems` of the result says what is wrong. Nothing is written."""
    with Stage() as stage:
        return _checked(path, stage, tell)


def build(path: Path, database: Path, tell: Tell = silent) -> Result:
    """Checks a kitchen's files and, if nothing is wrong, writes them into the database in one transaction.

    Raises:
        NotAKitchen: the database is not one of stillroom's, or is newer than this program.
        Held: it is being restored.
    """
    with Stage() as stage:
        load = _checked(path, stage, tell, database)
        if any(p.severity == "error" for p in load.problems):
            return Result(load.problems)
        tell("writing")
        derive(load)
        try:
            changed = _publish(database, load, stage)
        except Unread as error:
            return Result([*load.problems, *problems_of(error)])
    return Result(load.problems, load.count + stage.rows, changed)


def _checked(path: Path, stage: Stage, tell: Tell, database: Path | None = None) -> Load:
    """A kitchen's files as checked rows: log rows in the stage, all others in the load.

    Args:
        database: the kitchen's file that they are for, if any: pictures and earlier names are taken from it.
    """
    tell("reading the files")
    source = read_source(path)
    load = Load(source, _settings(source), datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ"))
    if database is not None:
        load.photos, load.earlier = kept_photos(database), kept_names(database)
    reference = _reference()
    load_reference_names(load, reference)
    tell("checking items and products")
    load_stock(load, reference)
    recipes = register_recipes(load)
    load_measures(load)
    load_products(load)
    check_labels(load, reference)
    load_price_lists(load)
    tell("checking recipes")
    load_book(load, recipes)
    check_lines(load, reference)
    tell("checking the logs")
    register_trials(load)
    load_logs(load, stage, tell)
    check_prices(load, stage)
    load.problems = list(dict.fromkeys([*load.problems, *source.problems]))  # a cell that two steps read is told once
    reference.close()
    return load


def _publish(database: Path, load: Load, stage: Stage) -> int:
    database.parent.mkdir(parents=True, exist_ok=True)
    with held(database):
        is_new = bring_up(database, keep_before) == 0
        with closing(open_kitchen(database)) as connection:
            connection.execute("pragma mmap_size = 0")  # each page is read once; mapped, all would count as memory
            connection.execute(f"pragma cache_size = -{CACHE_KB}")  # ids are random, their index is written all over
            if is_new:
                with transaction(connection):
                    create(connection)
            changed = publish(connection, load, stage, load.now)
            connection.execute("pragma optimize")
    return changed


def _reference() -> sqlite3.Connection:
    """The published figures in memory, for names that a kitchen's rows use."""
    connection = sqlite3.connect(":memory:", isolation_level=None)
    create(connection)
    with transaction(connection):
        load_reference(connection)
    return connection


def _settings(source: Source) -> dict[str, str]:
    """The kitchen's settings with defaults; a wrong one is a problem and keeps its default."""
    said = dict(DEFAULTS)
    for name, value in source.settings.items():
        text = value.text.strip()
        wrong = _wrong_setting(name, text)
        if wrong:
            source.problem(
                "setting-bad",
                value.place,
                f"{quoted(text)} can't be the {name}",
                wrong,
                "use one of these" if name in CLOSED else "write it so",
            )
        elif text:
            said[name] = text
    return said


def _wrong_setting(name: str, text: str) -> str:
    """Why a setting can't be so; '' where it can."""
    if not text:
        return ""
    if name in CLOSED:
        return "" if text in CLOSED[name] else f"Allowed: {', '.join(CLOSED[name])}."
    read, example = SAID.get(name, (str, ""))
    try:
        read(text)
    except (ReadError, ZoneInfoNotFoundError, ValueError):
        return example
    return ""


SAID: dict[str, tuple[Callable[[str], Any], str]] = {  # how a setting is read, and what it should look like
    "today": (read_date, "A date: 2026-11-25."),
    "clock": (read_clock, "A time: 13:05."),
    "day starts": (read_clock, "A time: 04:00."),
    "time zone": (ZoneInfo, "An IANA name: Europe/London."),
    "breakdown tolerance": (read_share, "A share: 2 %."),
    "ready before opening": (read_span, "A length of time: 30 min."),
}
