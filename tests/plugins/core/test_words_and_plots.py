"""Numbers, days and money in words; plots as SVG; files without formulas; descriptions from the schema."""

from __future__ import annotations

import csv
import io
import xml.etree.ElementTree as ET
from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from stillroom.plugins.core import format as say
from stillroom.plugins.core.charts import LABEL_APART, Limit, Line, line_chart, step_chart
from stillroom.plugins.core.compute import late_by_supplier
from stillroom.plugins.core.export import csv_text, xlsx_bytes
from stillroom.plugins.core.notes import all_notes, table_notes, view_note

# A spreadsheet runs cells that begin so (OWASP, CSV Injection: = + - @ tab carriage return).
HOSTILE = ["=1+1", "+1", "-1+2", "@sum(a1)", "\tx", "\rx", "=cmd|' /c calc'!a1"]
WEDNESDAY = date(2026, 11, 25)


@pytest.mark.parametrize(
    ("on", "said"),
    [
        ("2026-11-25", "today"),
        ("2026-11-24", "yesterday"),
        ("2026-11-26", "tomorrow"),
        ("2026-11-27", "Friday"),
        ("2026-12-01", "Tuesday"),
        ("2026-12-02", "2 December"),
        ("2026-11-20", "last Friday"),
        ("2026-11-19", "last Thursday"),
        ("2026-11-18", "18 November"),
        ("2025-11-25", "25 November 2025"),
    ],
)
def test_days_as_people_say_them(on: str, said: str) -> None:
    """No word can mean two days: a weekday reaches six days ahead, and behind it says 'last'."""
    assert say.near_day(on, WEDNESDAY) == said


@pytest.mark.parametrize(
    ("number", "unit", "system", "said"),
    [
        (Fraction(1500), "g", "metric", "1.5 kg"),
        (Fraction(250, 3), "g", "metric", "83.3 g"),
        (Fraction(12), "each", "metric", "12 ea"),
        # 1 lb = 453.59237 g, and 1 US quart = 57.75 cubic inches of 25.4 mm, both exact (NIST Handbook 44, appendix C)
        (Fraction("453.59237"), "g", "US", "1 lb"),
        (Fraction("946.352946"), "ml", "US", "1 qt"),
        (None, "g", "metric", "not known"),
        (Fraction(0), "ml", "metric", "0 ml"),
        (Fraction(1234567), "g", "metric", "1,235 kg"),
    ],
)
def test_quantities_as_cooks_read_them(number: Fraction | None, unit: str, system: str, said: str) -> None:
    """Unknown is said, never nought."""
    assert say.amount(number, unit, system) == said


def test_money_is_rounded_once_and_a_missing_price_is_said() -> None:
    """Half to even at the second place; None is not zero."""
    assert [say.money(Fraction(x), "GBP") for x in ("0.125", "0.135", "1234.5")] == [
        "0.12 GBP",
        "0.14 GBP",
        "1,234.50 GBP",
    ]
    assert say.money(Decimal("2.5")) == "2.50" and say.money(None, "GBP") == "no price"
    assert say.percent(None) == "not known" and say.fahrenheit(None) == "not measured"


def test_a_step_holds_its_value_until_it_changes() -> None:
    """Across first, then up: no slope between two prices."""
    svg = str(step_chart([(date(2026, 1, 1), 1.0), (date(2026, 1, 11), 2.0)], "from 1 to 2", "2.00"))
    path = next(e.attrib["d"] for e in ET.fromstring(svg).iter() if e.tag.endswith("path"))
    assert "L" not in path and path.index("H") < path.index("V")
    assert "1 Jan" in svg and "11 Jan" in svg and 'aria-label="from 1 to 2"' in svg


def test_limits_are_dashed_named_and_in_range() -> None:
    """A limit far from the line still stands on the plot."""
    svg = str(
        line_chart(
            [Line([(0, 60), (10, 90)], "core", is_accent=True)],
            "core",
            "{:g} min".format,
            limits=[Limit(165, "165 °F")],
        )
    )
    limit = next(e for e in ET.fromstring(svg).iter() if e.get("class") == "limit")
    assert 22 < float(limit.attrib["y1"]) < 170 and "165 °F" in svg and 'class="line accent"' in svg


def test_words_on_a_plot_are_only_words() -> None:
    """A name with angle brackets and quotes stays text."""
    hostile = '"><script>alert(1)</script>'
    svg = str(line_chart([Line([(0, 1)], hostile)], hostile, lambda _: hostile, limits=[Limit(2, hostile)]))
    assert not [e for e in ET.fromstring(svg).iter() if e.tag.endswith("script")]


def test_labels_of_two_lines_that_end_together_stay_apart() -> None:
    """Direct labels are moved, never laid over each other."""
    svg = str(line_chart([Line([(0, 1), (1, 5)], "one"), Line([(0, 2), (1, 5)], "two")], "both", str))
    ys = [float(e.attrib["y"]) for e in ET.fromstring(svg).iter() if e.get("class") == "label"]
    assert abs(ys[0] - ys[1]) >= LABEL_APART


def test_a_plot_of_nothing_is_refused_and_one_point_is_drawn() -> None:
    """One price on one day is a plot; none is a mistake of the page."""
    assert "nan" not in str(step_chart([(date(2026, 1, 1), 0.0)], "one", "0"))
    for empty in ([], [Line([], "x")]):
        with pytest.raises(ValueError, match="at least one"):
            line_chart(empty, "", str)


def test_no_text_becomes_a_formula() -> None:
    """Cells that a spreadsheet would run are text in CSV and XLSX; numbers stay numbers, headers are held to it too."""
    rows = list(csv.reader(io.StringIO(csv_text(["=a"], [[h] for h in HOSTILE]), newline="")))
    assert [r[0] for r in rows] == [f"'{h}" for h in ["=a", *HOSTILE]]
    assert csv_text(["a"], [[-1.5], [Decimal("-2.50")], [None], ["a-b"]]).splitlines()[1:] == [
        "-1.5",
        "-2.50",
        '""',
        "a-b",
    ]
    from openpyxl import load_workbook

    sheet = load_workbook(io.BytesIO(xlsx_bytes(["=a", "b"], [[h, Fraction(-3, 2)] for h in HOSTILE]))).active
    assert {cell.data_type for cell in sheet["A"]} == {"s"}
    assert sheet["A2"].value == "=1+1" and sheet["B2"].value == -1.5


def test_late_goods_are_said_once_per_supplier() -> None:
    """Items once each, the longest delay, most items first."""
    rows = [
        ("a", "Ann", "leeks", "2026-11-20", "2026-11-21"),
        ("b", "Bo", "eel", "2026-11-17", "2026-11-20"),
        ("b", "Bo", "brill", "2026-11-19", "2026-11-20"),
        ("b", "Bo", "eel", "2026-11-18", "2026-11-19"),
    ]
    first, second = late_by_supplier(rows)
    assert (first.supplier, first.items, first.most_days, first.last_on) == ("Bo", ["eel", "brill"], 3, "2026-11-20")
    assert second.most_days == 1 and late_by_supplier([]) == []


def test_descriptions_come_from_the_schema() -> None:
    """One comment, read by people in the file and on Datasette's pages."""
    found = table_notes(
        "create table lots (  -- one lot\n    weight_g text not null,   -- exact, g\n    note text\n) strict;\n"
    )
    assert found == {"lots": {"description": "One row is one lot.", "columns": {"weight_g": "exact, g"}}}
    note = view_note("create view x as\n-- One row per y. grain: y. needs: z.\n-- n_g: weight, g.\nselect 1 as n_g")
    assert note == {"description": "One row per y.", "columns": {"n_g": "weight, g."}}
    assert all_notes()["deliveries"]["columns"]["door_temp_f"] == "°F"
