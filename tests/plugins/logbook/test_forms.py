"""Whatever is typed, a form answers: with what it would write down, what is wrong, or what it asks again."""

from __future__ import annotations

import sqlite3
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from stillroom.plugins.logbook.book import open_book
from stillroom.plugins.logbook.drawn import draw
from stillroom.plugins.logbook.fields import Book
from stillroom.plugins.logbook.forms import FORMS
from stillroom.plugins.logbook.pages import moment_of, read_form
from stillroom.plugins.logbook.reading import sure_of

NOW = datetime(2026, 11, 25, 18, 0, tzinfo=UTC)
ODD = (
    "", " ", "\x00", "a\x00b", "\u202e21 kg", "🍋", "½", "2½ qt", "٣", "1e999", "-0", "-5 kg", "0 kg", "1/0", "NaN",
    "inf",
    "1" * 400, "9999999999999999 kg", "412 lb", "1450 °F", "38", "38 C", "-400 C", "2026-02-31", "2026-13-01",
    "25:61", "17:40",
    "0001-01-01", "9999-12-31", "'; drop table counts; --", "<script>", "=1+1", "butter, salted", "Brown butter",
    "Mutton loin chop", "batch 1", "x" * 1_000_000, "used", "hot", "out", "é" * 200, "\ufffd", "a\tb\nc", "10%",
    "101 %",
)  # fmt: skip
TEXT = st.one_of(st.sampled_from(ODD), st.text(max_size=40), st.text(alphabet="0123456789 ./½-°FCkglbqt", max_size=14))


@pytest.fixture(scope="module")
def connection(demo_db: Path) -> Any:
    found = sqlite3.connect(f"file:{demo_db}?mode=ro", uri=True)
    yield found
    found.close()


_BOOKS: dict[str, Book] = {}


def book_of(connection: sqlite3.Connection, slug: str) -> Book:
    if slug not in _BOOKS:
        _BOOKS[slug] = open_book(connection, FORMS[slug], {}, NOW)
    return _BOOKS[slug]


def names_of(slug: str) -> list[str]:
    names = [
        name
        for one in FORMS[slug].fields
        for name in (one.name, f"{one.name}-unit", f"{one.name}-tap", sure_of(one.name))
    ]
    return [*names, "from-tap-1", "voids", "made-at", "sent-at"]


def answer(connection: sqlite3.Connection, slug: str, typed: dict[str, str]) -> int:
    """Nothing is raised; without a mistake or a question there are rows, and they fit the log. Returns how many."""
    written = 0
    form, book = FORMS[slug], book_of(connection, slug)
    for office in (True, False):
        taken = read_form(form, typed, book, office)
        draw(form, typed, book, taken, {}, office)
        if taken.wrong or taken.ask:
            continue
        rows = form.rows(taken.values, book)
        written += len(rows)
        for table, row in rows:
            columns = {name: kind for _, name, kind, *_ in connection.execute(f"pragma table_info({table})")}
            assert set(row) <= set(columns)
            for name, value in row.items():
                kinds = {"TEXT": str, "INTEGER": int, "REAL": (int, float)}[columns[name].upper()]
                assert value is None or isinstance(value, kinds), (name, value)
                assert "\x00" not in str(value)
    assert moment_of(typed, NOW) <= NOW
    return written


@pytest.mark.parametrize("slug", FORMS)
def test_generated_forms(connection: sqlite3.Connection, slug: str) -> None:
    """NUL, letters that turn the line, emoji, a megabyte, numbers that end nowhere: what comes out fits the log.

    Two thousand of each through the front door: test_posts.py.
    """
    dictionary = st.dictionaries(st.sampled_from(names_of(slug)), TEXT, max_size=12)

    @settings(max_examples=40, deadline=None, database=None, suppress_health_check=list(HealthCheck))
    @given(dictionary)
    def run(typed: dict[str, str]) -> None:
        answer(connection, slug, typed)

    run()
    assert not any(answer(connection, slug, dict.fromkeys(names_of(slug), text)) for text in ODD)


def taken(connection: sqlite3.Connection, slug: str, **typed: str) -> Any:
    form = FORMS[slug]
    said = {name.replace("__", "-"): text for name, text in typed.items()}
    book = open_book(connection, form, said, NOW)
    found = read_form(form, said, book, True)
    rows = [] if found.wrong or found.ask else form.rows(found.values, book)
    return found, rows


def test_a_probe_at_1450_is_refused_and_its_words_say_why(connection: sqlite3.Connection) -> None:
    found, _ = taken(connection, "probe", core="1450", core__unit="F", of="Mutton loin chop")
    assert "1450 °F" in found.wrong["core"] and "can't be" in found.wrong["core"]


def test_an_unlikely_core_is_asked_once_and_only_for_that_number(connection: sqlite3.Connection) -> None:
    """°F typed for °C is the usual slip: 145 in the wrong scale is 293 °F."""
    found, _ = taken(connection, "probe", core="145", core__unit="C")
    assert "293 °F" in found.ask["core"]
    found, rows = taken(connection, "probe", core="145", core__unit="C", core__sure="145 C")
    assert not found.ask and rows[0][1]["core_f"] == 293
    found, _ = taken(connection, "probe", core="146", core__unit="C", core__sure="145 C")
    assert "core" in found.ask


def test_quantities_as_cooks_write_them(connection: sqlite3.Connection) -> None:
    """2½ qt is 2,365.8824 ml (NIST Handbook 44); the unit typed wins over the one beside."""
    _, rows = taken(
        connection, "count", of="double cream", quantity="2½ qt", quantity__unit="kg", quantity__sure="2½ qt kg"
    )
    assert Fraction(rows[0][1]["quantity"]) == Fraction("2365.882365") and rows[0][1]["unit"] == "ml"
    found, _ = taken(connection, "count", of="butter, salted", quantity="2½")
    assert "unit" in found.wrong["quantity"]


def test_412_lb_is_asked(connection: sqlite3.Connection) -> None:
    found, _ = taken(connection, "count", of="butter, salted", quantity="412", quantity__unit="lb")
    assert found.ask["quantity"].startswith("412 lb?")


def test_a_breakdown_adds_up_or_is_asked(connection: sqlite3.Connection) -> None:
    """4 and 0.8 of 6.6 kg leave 1.8: asked, then written as loss. 7 of 6.6 is refused. 2 % may pass unasked."""
    said = {"of": "Mutton loin chop", "input": "6.6 kg", "of1": "Mutton loin chop", "weight1": "4 kg", "pieces1": "15"}
    found, _ = taken(connection, "breakdown", **said, of2="mutton fat", weight2="0.8 kg")
    assert found.ask["input"].startswith("1.800 kg, 27.3 %")
    _, rows = taken(connection, "breakdown", **said, of2="mutton fat", weight2="0.8 kg", input__sure="6.6 kg")
    assert [row.get("weight_g") for _, row in rows[1:]] == ["4000", "800", "1800"]
    assert rows[3][1]["item_id"] is None and rows[3][1]["recipe_id"] is None
    found, _ = taken(connection, "breakdown", **said, of2="mutton fat", weight2="3 kg")
    assert "too much" in found.wrong["input"]
    found, rows = taken(connection, "breakdown", **said, of2="mutton fat", weight2="2.5 kg")
    assert not found.wrong and not found.ask and len(rows) == 4


def test_a_batch_gets_its_last_day_by_its_shelf_life_and_where_nobody_says_why_not_by_seven_days(
    connection: sqlite3.Connection,
) -> None:
    _, rows = taken(connection, "batch", of="Mutton stock", quantity="5 l", quantity__sure="5 l")
    assert rows[0][1]["use_by"] == "2026-11-28"
    _, rows = taken(connection, "batch", of="Soused herring", quantity="1 kg")
    assert rows[0][1]["use_by"] == "2026-12-01"  # eight days of its own


def test_goods_of_an_order_need_only_what_came(connection: sqlite3.Connection) -> None:
    (order,) = connection.execute("select max(id) from deliveries where received = '0'").fetchone()
    _, rows = taken(connection, "delivery", expected=str(order), received="2 kg", door="3", door__unit="C")
    row = rows[0][1]
    assert (row["voids"], row["supplier_id"], row["item_id"], row["ordered"], row["due_on"]) == (
        order, "wick-sluice-growers", "shallots", "2500", "2026-11-26",
    )  # fmt: skip


def test_a_product_never_seen_is_asked_and_goes_in_unread(connection: sqlite3.Connection) -> None:
    said = {"supplier": "Saltby Dairy", "product": "Smoked butter", "item": "butter, salted", "received": "2 kg"}
    found, _ = taken(connection, "delivery", **said)
    assert "not reviewed" in found.ask["product"]
    _, rows = taken(connection, "delivery", **said, product__sure="Smoked butter")
    assert rows[0][1]["product_id"] is None and rows[0][1]["description"] == "Smoked butter"


def test_warm_butter_is_asked_and_refused_whole_it_is_not(connection: sqlite3.Connection) -> None:
    """Food Code 3-202.11(A): 41 °F. 48.2 °F is asked, with what to do; sent back whole it is not."""
    said = {"supplier": "Saltby Dairy", "product": "Farm butter, lightly salted", "received": "2 kg", "door": "9 °C"}
    found, _ = taken(connection, "delivery", **said)
    assert "48.2 °F" in found.ask["door"] and "Refuse it" in found.ask["door"]
    found, _ = taken(connection, "delivery", **said, rejected="2 kg", reason="warm")
    assert not found.ask and not found.wrong
    found, _ = taken(connection, "delivery", **said, rejected="3 kg")
    assert set(found.wrong) == {"rejected", "reason"}


def test_money_is_left_out_where_it_may_not_be_seen(connection: sqlite3.Connection) -> None:
    form = FORMS["plates"]
    typed = {"of": "Brill on the bone, buttered samphire", "plates": "3", "sales": "12.00"}
    book = open_book(connection, form, typed, NOW)
    assert read_form(form, typed, book, False).values["sales"] is None
    assert read_form(form, typed, book, True).values["sales"] == "12.00"


def test_what_waited_is_written_as_of_when_it_was_made() -> None:
    """The tablet's clock may be a day off: only the time between its two moments counts."""
    wrong = NOW + timedelta(days=1)
    typed = {"made-at": (wrong - timedelta(minutes=3)).isoformat(), "sent-at": wrong.isoformat()}
    assert moment_of(typed, NOW) == NOW - timedelta(minutes=3)
    assert moment_of({"made-at": "2026", "sent-at": "x"}, NOW) == NOW
    assert moment_of({"made-at": "2026-01-01T00:00:00Z", "sent-at": "2026-11-25T00:00:00Z"}, NOW) == NOW
