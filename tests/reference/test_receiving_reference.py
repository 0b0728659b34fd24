"""Receiving temperatures as they are shipped, against the FDA Food Code 2022, section 3-202.11."""

from __future__ import annotations

import csv
import sqlite3
from importlib.resources import files
from pathlib import Path

import pytest
from stillroom.db.connect import tune
from stillroom.db.limits import Rule

# FDA, Food Code 2022 (U.S. Public Health Service), 3-202.11 Temperature: paragraph -> °F and which way it limits.
FOOD_CODE_2022 = {
    "recv_cold": (41.0, "at most", "3-202.11(A)"),  # (A) refrigerated TCS food: 41 °F or below when received
    "recv_milk_shellfish": (
        45.0,
        "at most",
        "3-202.11(B)",
    ),  # (B) the temperature of the law that governs its distribution
    "recv_eggs": (45.0, "at most", "3-202.11(C)"),  # (C) raw eggs: ambient air of 45 °F or less
    "recv_hot": (135.0, "at least", "3-202.11(D)"),  # (D) cooked and received hot: 135 °F or above
    "recv_frozen": (None, "method", "3-202.11(E)-(F)"),  # (E) frozen when received; (F) no sign of earlier abuse
}


def shipped() -> dict[str, Rule]:
    """The receiving rules of the shipped reference table."""
    text = files("stillroom.db").joinpath("reference/cooling_holding.csv").read_text("utf-8")
    rows = [r for r in csv.DictReader(text.splitlines()) if r["id"].startswith("recv_")]
    return {
        r["id"]: Rule(
            id=r["id"],
            rule=r["rule"],
            temp_f=float(r["temp_f"]) if r["temp_f"] else None,
            direction=r["direction"],
            edition=r["edition"],
            section=r["section"],
            basis=r["basis"],
        )
        for r in rows
    }


def test_every_receiving_rule_is_that_of_the_food_code() -> None:
    """Each paragraph of 3-202.11 with its figure in °F, and no rule beside them."""
    assert {i: (r.temp_f, r.direction, r.section) for i, r in shipped().items()} == FOOD_CODE_2022


def test_milk_and_shellfish_are_received_under_the_law_of_their_trade() -> None:
    """45 °F: Grade A Pasteurized Milk Ordinance (milk, 7 °C or less) and NSSP Model Ordinance (shellstock)."""
    rule = shipped()["recv_milk_shellfish"]
    assert rule.temp_f == 45.0 and "law" in rule.rule


def test_no_receiving_rule_rests_on_memory() -> None:
    """Each was read in a source."""
    assert {r.basis for r in shipped().values()} == {"read"}


@pytest.mark.parametrize(
    ("rule", "door_f", "broken"),
    [
        ("recv_cold", 41.0, False), ("recv_cold", 41.1, True), ("recv_cold", 45.0, True),
        ("recv_milk_shellfish", 45.0, False), ("recv_milk_shellfish", 45.1, True),
        ("recv_eggs", 45.0, False), ("recv_eggs", 46.0, True),
        ("recv_hot", 135.0, False), ("recv_hot", 134.9, True),
        ("recv_frozen", 31.0, None),
    ],
)  # fmt: skip
def test_the_limit_itself_is_received(rule: str, door_f: float, broken: bool | None) -> None:
    """'Or below', 'or less', 'or above' (3-202.11): the figure is within; frozen food has none and is not judged."""
    assert shipped()[rule].is_broken_by(door_f) is broken


def test_the_database_holds_the_same_rules(demo_db: Path) -> None:
    """A load keeps the limits in °F as they are, never converted and back."""
    connection = sqlite3.connect(demo_db)
    tune(connection)
    rows = connection.execute(
        "select id, temp_f, direction, section from holding_rules where id like 'recv%'"
    ).fetchall()
    assert {i: (t, d, s) for i, t, d, s in rows} == FOOD_CODE_2022


def test_items_of_the_demonstration_are_held_against_the_rule_of_their_kind(demo_db: Path) -> None:
    """Only shell eggs under (C), only milk and shellfish under (B); meat, poultry and fish under (A)."""
    rules = dict(
        sqlite3.connect(demo_db).execute("select id, receiving_rule_id from items where receiving_rule_id is not null")
    )
    categories = dict(sqlite3.connect(demo_db).execute("select id, category from items"))
    assert {categories[i] for i, r in rules.items() if r == "recv_eggs"} == {"egg"}
    assert {categories[i] for i, r in rules.items() if r == "recv_milk_shellfish"} <= {"shellfish", "dairy"}
    assert {rules.get(i) for i, c in categories.items() if c in {"meat", "poultry", "fish"} and i in rules} == {
        "recv_cold"
    }
