"""One rule dates what the kitchen makes: the log, the prep list, labels and the file's own view say the same day."""

from __future__ import annotations

import sqlite3
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from stillroom.db.date_marks import Life, keeps
from stillroom.db.log import instant
from stillroom.plugins.logbook.book import open_book
from stillroom.plugins.logbook.forms import BATCH
from stillroom.plugins.prep.posts import Tick, write_tick

TODAY = date(2026, 11, 25)  # the demonstration stands still on it
NOW = datetime(2026, 11, 25, 13, 0, tzinfo=UTC)


def logged(connection: sqlite3.Connection, recipe: str) -> str | None:
    """What the batch form writes down where nobody typed a day."""
    book = open_book(connection, BATCH, {}, NOW)
    known = next(book.names[kind][recipe] for kind in ("subs", "cuts", "dishes") if recipe in book.names[kind])
    empty = {one.name: None for one in BATCH.fields}
    ((_, row),) = BATCH.rows({**empty, "of": known, "quantity": Fraction(1), "on": TODAY.isoformat()}, book)
    found: str | None = row["use_by"]
    return found


def ticked(connection: sqlite3.Connection, recipe: str) -> str | None:
    """What a tick on the prep list writes down."""
    work: Any = SimpleNamespace(thing=recipe, kind="make", is_heat=False, quantity=Fraction(1), lot="", key=recipe)
    write_tick(connection, Tick(work, "done", Fraction(1), f"tick-{recipe}", "Tomasz"))
    found: tuple[str | None] = connection.execute(
        "select use_by from batches where request_id = ?", (f"tick-{recipe}-batch",)
    ).fetchone()
    return found[0]


async def test_every_way_to_date_a_batch_says_the_same_for_every_recipe(demo_db: Path, house: Any) -> None:
    """Log, prep list, label, the view recipe_life, and the rule itself (Food Code 3-501.17)."""
    connection = sqlite3.connect(":memory:")
    with sqlite3.connect(demo_db) as source:
        source.backup(connection)
    source.close()
    recipes = connection.execute(
        "select r.id, r.shelf_life_days, r.no_date_mark, l.life_days, l.decided_by from recipes as r"
        " join recipe_life as l on l.recipe_id = r.id where r.status = 'active'"
    ).fetchall()
    assert len(recipes) > 100
    for recipe, days, unmarked, life_days, decided_by in recipes:
        rule = keeps(TODAY, Life(days, unmarked))
        label = (await house.client.get(f"/recipe/{recipe}/labels.json")).json()["label"]
        want = None if rule.last_on is None else rule.last_on.isoformat()
        assert logged(connection, recipe) == ticked(connection, recipe) == want, recipe
        printed = "" if rule.last_on is None else f"{rule.last_on:%a} {rule.last_on.day} {rule.last_on:%b %Y}"
        assert (label["use_by"], label["until"]) == (printed, f"by {rule.by}" if rule.by else ""), recipe
        viewed = None if life_days is None else (TODAY + timedelta(days=life_days - 1)).isoformat()
        assert (viewed, decided_by or "") == (want, rule.by), recipe


def test_portions_of_a_breakdown_end_by_the_same_rule(demo_db: Path) -> None:
    """As a batch of the same cut would, whatever shelf life it has; thirty days without a reason are seven."""
    connection = sqlite3.connect(":memory:")
    with sqlite3.connect(demo_db) as source:
        source.backup(connection)
    source.close()
    connection.execute("update recipes set shelf_life_days = 30 where id = 'mutton-loin-chop'")
    parts = connection.execute(
        "select p.thing_id, p.broken_on, p.last_on, r.shelf_life_days, r.no_date_mark from breakdown_part as p"
        " join recipes as r on r.id = p.thing_id where p.is_item = 0"
    ).fetchall()
    assert len({thing for thing, *_ in parts}) > 2 and "mutton-loin-chop" in {thing for thing, *_ in parts}
    for thing, on, last_on, days, unmarked in parts:
        rule = keeps(date.fromisoformat(on), Life(days, unmarked))
        assert rule.last_on is not None and last_on == rule.last_on.isoformat(), thing


async def test_relish_keeps_its_sixty_days_and_soused_herring_the_seven_of_the_mark(house: Any) -> None:
    """The recipe says why the relish needs no date mark; of the herring, eight days, it says nothing."""
    relish = (await house.client.get("/recipe/damson-relish/labels")).text
    assert "Sat 23 Jan 2027" in relish and "by shelf life" in relish and "No date mark: acid: pH 3.2" in relish
    herring = (await house.client.get("/recipe/soused-herring/labels")).text
    assert "Tue 1 Dec 2026" in herring and "by date mark" in herring and "Food Code 3-501.17" in herring


@pytest.mark.parametrize("use_by", ["2026-11-28", None])
async def test_a_batchs_page_its_label_and_its_entry_name_one_day(demo_db: Path, tmp_path: Path, use_by: Any) -> None:
    """Written down with a day of its own, or without one: whoever opens it reads the same."""
    from stillroom.db.log import append
    from stillroom.loaders.commands import application

    path = tmp_path / "kitchen.db"
    with sqlite3.connect(demo_db) as source, sqlite3.connect(path) as copy:
        source.backup(copy)
        number = append(copy, "batches", {
            "request_id": "one", "actor": "Tomasz", "origin": "web", "recipe_id": "damson-relish", "quantity": "800",
            "unit": "g", "lot_code": "R-1", "made_on": "2026-11-25", "use_by": use_by, "recorded_at": instant(NOW),
        })  # fmt: skip
    copy.close()
    source.close()
    made = application(path)
    await made.invoke_startup()
    page = (await made.client.get(f"/batch/{number}.json")).json()
    label = (await made.client.get(f"/batch/{number}/labels.json")).json()["label"]
    assert page["use_by"] == (use_by or "2027-01-23")
    assert label["use_by"] == ("Sat 28 Nov 2026" if use_by else "Sat 23 Jan 2027")
    assert label["until"] == ("as written" if use_by else "by shelf life")
