"""What the pages of tables say: every table under a heading, plain words for columns and filters, their cautions."""

from __future__ import annotations

from typing import Any

import pytest
from stillroom.plugins.core import records
from stillroom.plugins.core.auth import known


def test_every_table_stands_under_one_heading() -> None:
    """A new table or view gets a place in SUBJECTS, or this fails; nothing stands twice, nothing that is not there."""
    placed = [name for subject in records.SUBJECTS for name in subject.names]
    assert len(placed) == len(set(placed)) > 70
    assert set(placed) == {name for name in known() if not name.startswith((records.STANDING, "search_"))}


def test_tables_are_grouped_with_their_counts() -> None:
    """A log carries the view of what counts; a strange table stands last; an empty heading is left out."""
    tables = [{"name": "zebra", "count": 2}, {"name": "deliveries", "count": 0}, {"name": "items", "count": None}]
    views = [{"name": "standing_deliveries"}, {"name": "dish_item"}]
    notes = {"deliveries": {"title": "At the door", "description": "One row is one line."}}
    found = records.grouped(tables, views, notes)
    assert [group.title for group in found] == [
        "Worked out from the tables", "What is bought", "Goods and stock", "Others"
    ]  # fmt: skip
    assert found[2].entries == (records.Entry("deliveries", "At the door", "One line.", 0, "standing_deliveries"),)
    assert [found[0].entries[0].count, found[1].entries[0].count, found[3].entries[0].count] == [None, None, 2]
    assert found[2].anchor == "goods-and-stock"


def test_a_view_of_a_log_without_its_log_is_listed() -> None:
    """Whoever may see only what counts still finds it."""
    (group,) = records.grouped([], [{"name": "standing_counts"}], {})
    assert [entry.title for entry in group.entries] == ["Counts: what counts"]


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("door_temp_f", "door temp, °F"), ("change_pct", "change, %"), ("hold_seconds", "hold, s"),
        ("shelf_life_days", "shelf life, days"), ("weight_range_lb_c", "weight range lb c"), ("item_id", "item id"),
        ("f", "f"), ("g_each", "g each"), ("received_on", "received on"),
    ],
)  # fmt: skip
def test_columns_are_said_in_words(name: str, words: str) -> None:
    """The unit stands behind a comma; ranges A to D of a published cut are no degrees."""
    assert records.column_words(name) == words


def test_every_comparison_has_words() -> None:
    """All that Datasette offers in its filter form, and one that nobody knows."""
    from datasette.filters import Filters

    offered = [key for key, _, _ in Filters([]).lookups()]
    said = [records.filter_words(key) for key in offered if key != "contains"]
    assert len(offered) > 15 and len(set(said)) == len(said) and not set(said) & set(offered) - {"contains"}
    assert records.filter_words("new", "is new") == "is new"


def test_columns_stand_as_their_values_ask() -> None:
    """Figures at the right, short words on one line, long ones in a wide column; an id is never a figure."""
    names = ["id", "price", "amount", "share", "day", "words", "none", "mixed"]
    rows: list[list[Any]] = [
        [1, "12.50", 3, "1/3", "2026-11-25", "x" * 51, None, "2"],
        [2, None, 0.00001, "2/3", "", "", "", "two and a half spoons"],
    ]
    assert records.shapes(names, rows) == {
        "id": "keep", "price": "num", "amount": "num", "share": "num", "day": "keep", "words": "long", "none": "keep",
        "mixed": "",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (6.766666666, "6.7667"), (0.0, "0"), (-0.5, "-0.5"), (0.00001234, "as written"), (None, ""), ("", ""),
        ('["Crab butter", "butter"]', "Crab butter ← butter"), ('["a", 1]', "as written"), ('["broken', "as written"),
        ("[]", "as written"), (0, "as written"),
    ],
)  # fmt: skip
def test_cells_are_shown_shortened(value: Any, text: str) -> None:
    """A small number is never rounded to nothing; what is not a path stays as it was."""
    assert records.shown("as written", value) == text


def test_bookkeeping_stands_last() -> None:
    """And an id whose name stands beside it; all else in its order."""
    names = ["id", "request_id", "actor", "item_id", "item", "supplier_id", "note"]
    found = records.reading_order([{"name": name} for name in names], "name")
    assert [thing["name"] for thing in found] == [
        "id", "item", "supplier_id", "note", "request_id", "actor", "item_id"
    ]  # fmt: skip


def test_cautions_follow_the_columns() -> None:
    """Allergens, temperatures and dates of use carry theirs; suppliers' addresses none; the list of all tables both."""
    assert records.cautions(["product_id", "allergen_id"]) == [records.ALLERGENS]
    assert records.cautions(["core_f"]) == records.cautions(["last_on"]) == [records.HEAT]
    assert records.cautions(["name", "phone", "weight_range_lb_c"]) == []
    assert records.cautions(None) == [records.ALLERGENS, records.HEAT]
    assert "local code" in records.HEAT and "confirm with the chef" in records.ALLERGENS
