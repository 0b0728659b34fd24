"""Prices of an item against its other ones: what is warned about, and what is not."""

from __future__ import annotations

import shutil
from fractions import Fraction as F
from pathlib import Path

import pytest
from stillroom.db.odd_price import is_odd, usual_price
from stillroom.loaders.build import check

MINI = Path(__file__).parents[1] / "data" / "mini"
HEAD = "received on,supplier,item,kind,received,price,price per,request id,voids\n"


def told(tmp_path: Path, *prices: str) -> list[tuple[str, str]]:
    """Warnings about prices of the small kitchen with these deliveries of leeks, a day apart: code and where."""
    folder = shutil.copytree(MINI, tmp_path / "k")
    rows = [f"2026-11-{n:02d},Marsh Farm,leeks,{price}\n" for n, price in enumerate(prices, 1)]
    (folder / "deliveries.csv").write_text(HEAD + "".join(rows))
    found = [p for p in check(folder).problems if p.code in {"price-odd", "price-nothing"}]
    assert all(p.severity == "warning" for p in found)
    return [(p.code, str(p.place).rpartition("/")[2]) for p in found]


def paid(*prices: str) -> tuple[str, ...]:
    return tuple(f"goods,1 kg,{price},kg,," for price in prices)


@pytest.mark.parametrize("slip", ["150", "12.00", "0.15", "0.18"])
def test_one_price_far_from_the_others(tmp_path: Path, slip: str) -> None:
    """1.50 a kg and a slip of the comma, or 8 times: the row of the slip."""
    assert told(tmp_path, *paid("1.50", "1.45", slip, "1.50")) == [("price-odd", 'deliveries.csv:4, column "price"')]


def test_usual_prices_and_other_kinds_are_not(tmp_path: Path) -> None:
    """Four times as dear in winter; a credit, a row that was taken back and one per 100 g are no slips."""
    other = ("credit,1 kg,99,kg,,", "goods,1 kg,150,kg,a1,", "goods,1 kg,1.50,kg,a2,a1", "goods,1 kg,0.15,100 g,,")
    assert told(tmp_path, *paid("1.50", "6.00", "1.40"), *other) == []


def test_a_price_of_nothing(tmp_path: Path) -> None:
    """Once for the price, and it makes no other odd."""
    assert told(tmp_path, *paid("1.50", "0", "0", "1.45")) == [("price-nothing", 'deliveries.csv:3, column "price"')]


def test_a_price_list_against_deliveries(tmp_path: Path) -> None:
    """The small kitchen's list has leeks at 1.50 a kg: one delivery at ten times that is asked about."""
    assert told(tmp_path, *paid("15.00")) == [("price-odd", 'deliveries.csv:2, column "price"')]


def test_the_rule() -> None:
    """Eight times and an eighth are odd, less is not; of two the lower is usual; nothing before: nothing is odd."""
    assert usual_price([F(n) for n in (100, 1, 2, 3, 4, 5, 6, 7, 8, 9)]) == 5
    assert usual_price([F(3), F(1)]) == 1 and usual_price([]) is None
    assert is_odd(F(8), F(1)) and is_odd(F(1), F(8)) and not is_odd(F(79, 10), F(1)) and not is_odd(F(8), None)
