"""The published figures: every table filled, every row with its basis, every source told."""

from __future__ import annotations

import re
import sqlite3
from importlib.resources import files

import pytest
from stillroom.db.names import fold
from stillroom.db.reference_data import load_reference, reference_rows

BASES = {"read", "read-excerpt", "read-secondary", "memory", "common practice", "assumed here", "not found"}


def tables() -> list[str]:
    """The tables of the reference schema."""
    return re.findall(
        r"create table (\w+)", files("stillroom.db").joinpath("schema_reference.sql").read_text("utf-8")
    )


def test_every_reference_table_is_filled(db: sqlite3.Connection) -> None:
    """None of the published figures is left in its file."""
    assert len(tables()) == 14
    assert [t for t in tables() if db.execute(f"select count(*) from {t}").fetchone()[0] == 0] == []
    assert db.execute("pragma foreign_key_check").fetchall() == []


FILES = [
    ("allergens", "allergens"), ("allergen_regimes", "allergen_regimes"),
    ("allergen_groups", "allergen_groups"), ("cooking_minimums", "cooking_minimums"),
    ("holding_rules", "cooling_holding"), ("doneness_bands", "doneness"), ("pathogens", "pathogen_kinetics"),
    ("thermal_properties", "thermal_properties"), ("reference_yields", "yields"),
    ("reference_densities", "densities"), ("reference_cuts", "cuts"), ("sources", "sources"),
]  # fmt: skip


@pytest.mark.parametrize(("table", "file"), FILES)
def test_every_row_of_a_file_is_in_its_table(db: sqlite3.Connection, table: str, file: str) -> None:
    """No row is dropped and none is counted twice."""
    assert db.execute(f"select count(*) from {table}").fetchone()[0] == len(reference_rows(file))


def test_a_second_load_changes_nothing(db: sqlite3.Connection) -> None:
    """It replaces, inside the caller's transaction, and a rollback brings the old rows back."""
    before = {t: db.execute(f"select * from {t} order by 1, 2, 3").fetchall() for t in tables()}
    db.execute("begin")
    load_reference(db)
    db.execute("commit")
    assert {t: db.execute(f"select * from {t} order by 1, 2, 3").fetchall() for t in tables()} == before
    db.execute("begin")
    db.execute("delete from label_words")
    load_reference(db)
    db.execute("rollback")
    assert db.execute("select count(*) from label_words").fetchone()[0] == len(before["label_words"])


def test_every_figure_says_what_it_rests_on(db: sqlite3.Connection) -> None:
    """Each row has a basis from the closed list; 'memory' is one of them and stays visible."""
    for table in tables():
        columns = {c for (c,) in db.execute("select name from pragma_table_info(?)", (table,))}
        if "basis" in columns:
            found = {b for (b,) in db.execute(f"select distinct basis from {table}")}
            assert found <= BASES, table
    assert db.execute("select count(*) from reference_cuts where basis = 'memory'").fetchone()[0] > 100


def test_every_source_id_is_in_the_list_of_sources(db: sqlite3.Connection) -> None:
    """A figure's source can be looked up."""
    known = {i for (i,) in db.execute("select id from sources")}
    for table in tables():
        if "source_id" in {c for (c,) in db.execute("select name from pragma_table_info(?)", (table,))}:
            for (said,) in db.execute(f"select distinct source_id from {table} where source_id <> ''"):
                assert set(re.split(r"[;,]\s*", said)) <= known, (table, said)


def test_an_unknown_figure_is_unknown(db: sqlite3.Connection) -> None:
    """An empty cell is null, never zero: frozen food has no degree in its rule, a method has no minutes."""
    assert db.execute(
        "select temp_f, time_seconds from holding_rules where id = 'recv_frozen'"
    ).fetchone() == (None, None)
    assert db.execute(
        "select count(*) from reference_densities where g_per_us_cup in ('', '0')"
    ).fetchone() == (0,)


DOOR = [
    ("recv_cold", 41, "at most"),
    ("recv_milk_shellfish", 45, "at most"),
    ("recv_eggs", 45, "at most"),
    ("recv_hot", 135, "at least"),
]


@pytest.mark.parametrize(("rule", "fahrenheit", "direction"), DOOR)
def test_food_is_received_at_the_codes_temperature(
    db: sqlite3.Connection, rule: str, fahrenheit: float, direction: str
) -> None:
    """Source: FDA Food Code 3-202.11(A) to (D) as quoted in training pages (S-EXP123, S-QUIZ): local code rules."""
    assert db.execute("select temp_f, direction from holding_rules where id = ?", (rule,)).fetchone() == (
        fahrenheit,
        direction,
    )


YIELDS = [
    ("Apples, raw, with skin", 90),
    ("Avocados, raw, all commercial varieties", 74),
    ("Leeks, (bulb and lower leaf-portion), raw", 44),
]


@pytest.mark.parametrize(("food", "percent"), YIELDS)
def test_a_yield_is_what_refuse_leaves(db: sqlite3.Connection, food: str, percent: float) -> None:
    """Source: USDA SR28 (2016), FOOD_DES.txt: 100 less the refuse."""
    assert db.execute(
        "select yield_pct, basis from reference_yields where food = ? and source like '%Release 28%'", (food,)
    ).fetchone() == (percent, "read")


def test_words_are_folded_and_told_once(db: sqlite3.Connection) -> None:
    """A label is compared without accents or case."""
    words = db.execute("select word, allergen_id, presence from label_words").fetchall()
    assert len(words) == len(set(words))
    assert [w for w, _, _ in words if w != fold(w)] == []
    assert {"semolina", "isinglass", "e220", "groundnut"} <= {w for w, _, _ in words}


def test_an_allergen_has_its_group_above_it(db: sqlite3.Connection) -> None:
    """Cod is a fish, spelt a wheat and a cereal with gluten; no circle."""
    parent = dict(db.execute("select id, parent_id from allergens").fetchall())
    assert (parent["cod"], parent["spelt"], parent["wheat"], parent["milk"]) == (
        "fish",
        "wheat",
        "gluten_cereal",
        None,
    )
    for allergen in parent:
        seen, at = set(), allergen
        while at is not None:
            assert at not in seen
            seen.add(at)
            at = parent[at]
