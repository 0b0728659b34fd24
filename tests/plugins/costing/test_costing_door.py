"""Cost at the door: which goods a credit comes off, from which day on, and that no money is made or lost."""

from __future__ import annotations

import shutil
import sqlite3
from dataclasses import replace
from fractions import Fraction as F
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stillroom.db.connect import tune
from stillroom.loaders.build import check
from stillroom.plugins.costing.door import Entry, landed
from stillroom.plugins.costing.prices import LAST, Known, price
from stillroom.plugins.costing.rows import read_house

MINI = Path(__file__).parents[2] / "data" / "mini"


def goods(on: str, document: str, kept: int, back: int = 0, each: str = "6", item: str = "x") -> Entry:
    """Goods of which some were sent back, at one price a unit."""
    asked = (kept * F(each) or None, back * F(each) or None)
    return Entry(on, "goods", "s", document, item, "p", F(kept), F(back), *asked)


def money(on: str, kind: str, document: str, amount: str, credits: str = "", item: str = "x") -> Entry:
    return Entry(on, kind, "s", document, item, "p", F(0), F(0), F(amount), None, credits)


def cost(entries: list[Entry], day: str, item: str = "x") -> F | None:
    """Last delivered price of one unit on a day."""
    found = price(Known(landed(entries).get(item, ())), LAST, day)
    return None if found is None else found.each


def test_credits_charges_and_deposits() -> None:
    """A credit comes off its item, a charge is spread by value, a deposit comes back and is no cost."""
    day = "2026-03-01"
    note = [goods(day, "N1", 10, each="6"), goods(day, "N1", 10, each="4", item="y"), money(day, "credit", "N1", "20"),
            money(day, "charge", "N1", "8"), money(day, "deposit", "N1", "50")]  # fmt: skip
    lots = landed(note)
    assert (lots["x"][0].money, lots["y"][0].money) == (44, 44)


def test_a_credit_for_what_was_sent_back_lowers_no_price() -> None:
    """Five of fifteen were sent back and credited, in two credits: the ten that stayed cost what they cost."""
    came = goods("2026-03-01", "N1", 10, back=5)
    credits = [money("2026-03-04", "credit", "C1", "18", "N1"), money("2026-03-05", "credit", "C2", "12", "N1")]
    assert cost([came, *credits], "2026-03-09") == 6
    more = money("2026-03-06", "credit", "C3", "10", "N1")
    assert cost([came, *credits, more], "2026-03-09") == 5


def test_a_price_of_nothing_is_not_a_price() -> None:
    """Goods at 0 are a sample or a slip: they leave the item without a price."""
    assert not any(lot.money for lot in landed([goods("2026-03-01", "N1", 10, each="0")]).get("x", ()))


BEFORE, SENT_BACK, AFTER = goods("2026-03-01", "N1", 10), goods("2026-03-03", "N2", 0, 10), goods("2026-03-05", "N3", 5)


@pytest.mark.parametrize("credits, document", [("N2", "C9"), ("", "N2"), ("", "C9"), ("", "")])
def test_a_line_sent_back_whole_bears_its_own_credit(credits: str, document: str) -> None:
    """Named, under the same document, or neither: what came before and after it costs what was paid."""
    entries = [BEFORE, SENT_BACK, AFTER, money("2026-03-06", "credit", document, "60", credits)]
    lots = landed(entries)["x"]
    assert [(lot.on, lot.each, lot.later) for lot in lots] == [("2026-03-01", 6, ()), ("2026-03-05", 6, ())]


def test_a_credit_without_a_document_comes_off_the_nearest_note() -> None:
    """Nothing waits for a credit: the nearest note before it; what was sent back over a month ago waits no longer."""
    credit = money("2026-03-06", "credit", "C9", "10")
    assert cost([BEFORE, AFTER, credit], "2026-03-06") == 4
    late = replace(credit, on="2026-05-06")
    assert cost([BEFORE, SENT_BACK, AFTER, late], "2026-05-06") == 4


def test_a_credit_for_goods_that_are_not_there_comes_off_none() -> None:
    """A document that brought none of the item: no other goods are made cheaper by it."""
    assert cost([BEFORE, money("2026-03-06", "credit", "C9", "10", "N8")], "2026-03-06") == 6


def test_what_was_sent_back_without_a_price_bears_any_credit() -> None:
    """The credit is then the only word on what it was to cost."""
    unpriced = replace(SENT_BACK, back=None)
    assert cost([BEFORE, unpriced, money("2026-03-06", "credit", "C9", "99", "N2")], "2026-03-09") == 6


def test_a_credit_is_not_known_before_its_day() -> None:
    """Kept, and credited on the 20th: until the 19th nobody knew; the charge is spread by what is left of value."""
    entries = [goods("2026-03-01", "N1", 10), goods("2026-03-01", "N1", 10, item="y"),
               money("2026-03-01", "charge", "N1", "12"), money("2026-03-20", "credit", "C1", "30", "N1")]  # fmt: skip
    assert (cost(entries, "2026-03-19"), cost(entries, "2026-03-19", "y")) == (F("6.6"), F("6.6"))
    assert (cost(entries, "2026-03-20"), cost(entries, "2026-03-20", "y")) == (F("3.4"), F("6.8"))


def test_goods_credited_whole_have_no_price_from_then_on() -> None:
    """The delivery before them is the last that cost anything."""
    entries = [BEFORE, goods("2026-03-05", "N3", 5, each="7"), money("2026-03-09", "credit", "C1", "35", "N3")]
    assert (cost(entries, "2026-03-08"), cost(entries, "2026-03-09")) == (7, 6)


DAYS = ("2026-03-01", "2026-03-02", "2026-03-03")
lines = st.lists(
    st.tuples(st.sampled_from(["i0", "i1"]), st.sampled_from(DAYS), st.integers(0, 9), st.integers(0, 9),
              st.integers(1, 900)).filter(lambda x: x[2] + x[3] > 0),
    min_size=1, max_size=6,
)  # fmt: skip


def _came(drawn: list[tuple[str, str, int, int, int]]) -> list[Entry]:
    """One note a day, named by its day."""
    return [goods(on, on, kept, back, f"{cents}/100", item) for item, on, kept, back, cents in drawn]


@given(lines, st.data())
def test_money_at_the_door_is_kept(drawn: list[tuple[str, str, int, int, int]], data: st.DataObject) -> None:
    """Goods and charges less credits is the money that lots hold and what was sent back still owes, in any order."""
    came = _came(drawn)
    credits, charged, owed = [], F(0), sum((e.back or F(0) for e in came), F(0))
    for n, day in enumerate(sorted({e.on for e in came})):
        kept = sum((e.money or F(0) for e in came if e.on == day), F(0))
        for item in ("i0", "i1"):
            own = [e for e in came if e.on == day and e.item == item]
            asked = sum(((e.money or F(0)) / 2 + (e.back or F(0)) for e in own), F(0))
            if asked:  # not all that was kept: a note whose goods are all credited has nothing to carry its charge
                part = asked * data.draw(st.fractions(0, 1, max_denominator=9))
                credits += [money("2026-03-09", "credit", f"C{n}", str(part), day, item)] if part else []
        if kept:
            charged += 8
            credits.append(money(day, "charge", day, "8"))
    entries = data.draw(st.permutations([*came, *credits]))
    lots = [lot.at("2026-03-09") for found in landed(entries).values() for lot in found]
    held = sum((lot.money for lot in lots), F(0))
    asked = sum((e.money or F(0) for e in came), F(0)) + owed
    given_back = sum((e.money or F(0) for e in credits if e.kind == "credit"), F(0))
    still = sum((max(F(0), _back(came, e) - _credit(credits, e)) for e in _notes(came)), F(0))
    assert held + still == asked + charged - given_back


def _notes(came: list[Entry]) -> list[tuple[str, str]]:
    return sorted({(e.on, e.item) for e in came})


def _back(came: list[Entry], note: tuple[str, str]) -> F:
    return sum((e.back or F(0) for e in came if (e.on, e.item) == note), F(0))


def _credit(credits: list[Entry], note: tuple[str, str]) -> F:
    return sum((e.money or F(0) for e in credits if (e.credits, e.item) == note), F(0))


@given(lines, st.booleans(), st.data())
def test_sent_back_and_credited_moves_nothing(
    drawn: list[tuple[str, str, int, int, int]], is_named: bool, data: st.DataObject
) -> None:
    """A line that was sent back whole and credited, put anywhere: every other lot stands at what it stood."""
    came = [e for e in _came(drawn) if e.quantity]
    came = [replace(e, rejected=F(0), back=None) for e in came]
    on = data.draw(st.sampled_from(DAYS))
    back = goods(on, "R1", 0, 7, "3.5", "i0")
    credit = money("2026-03-09", "credit", "R1/C", "24.5", "R1" if is_named else "", "i0")
    mixed = data.draw(st.permutations([*came, back, credit]))
    assert {i: sorted(map(repr, x)) for i, x in landed(mixed).items()} == {
        i: sorted(map(repr, x)) for i, x in landed(came).items()
    }


@pytest.mark.parametrize(
    "item, day, each, on",
    [
        ("watercress", "2026-06-26", "9.98", "2026-06-25"),
        ("brill", "2026-08-01", "17.51", "2026-08-01"),
        ("smoked-eel", "2026-10-20", "44", "2026-10-14"),
        ("smoked-eel", "2026-10-24", "44", "2026-10-14"),
    ],
)
def test_deliveries_sent_back_whole_in_the_demonstration(
    demo_db: Path, item: str, day: str, each: str, on: str
) -> None:
    """Invoice prices of the lines beside them, read from deliveries.csv by eye."""
    connection = sqlite3.connect(demo_db)
    tune(connection)
    found = price(read_house(connection, day).known[item], LAST, day)
    connection.close()
    assert found is not None and (found.each * 1000, found.on) == (F(each), on)


def test_a_credit_for_an_unknown_document_is_told(tmp_path: Path) -> None:
    """A document with goods of that item and supplier is taken; any other is a warning with its row."""
    folder = shutil.copytree(MINI, tmp_path / "k")
    head = "received on,supplier,item,kind,document,credits,received,price,price per\n"
    rows = ("butter,goods,D1,,2 kg,9,kg", "butter,credit,D1/C,D1,1 kg,9,kg", "cream,credit,D2/C,D1,1 l,4,l")
    (folder / "deliveries.csv").write_text(head + "".join(f"2026-11-24,Lane Dairy,{x}\n" for x in rows))
    told = [(p.code, str(p.place)) for p in check(folder).problems if p.code == "credit-unknown"]
    assert [place.rpartition("/")[2] for _, place in told] == ['deliveries.csv:4, column "credits"']
