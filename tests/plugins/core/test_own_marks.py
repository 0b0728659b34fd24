"""A kitchen's own way of writing on every page: its decimal mark, and °C beside what the law prints in °F."""

from __future__ import annotations

import re
from typing import Any

import pytest
from stillroom.plugins.core.format import OWN_WAY, Way, amount, beside_celsius, fahrenheit, money, percent
from stillroom.plugins.core.sure import far

DISH = "brill-on-the-bone-buttered-samphire"


def words(page: str) -> str:
    """What a person reads of a page."""
    return re.sub(r"<[^>]*>", " ", re.sub(r"(?s)<(script|style|svg)\b.*?</\1>", " ", page)).replace("\xa0", " ")


@pytest.mark.parametrize("address", [f"/dish/{DISH}", "/recipe/brill-portion", "/recipe/brill-portion/read"])
async def test_a_cooking_minimum_is_read_in_celsius_too(house: Any, address: str) -> None:
    """145 °F are 62.8 °C: Food Code 3-401.11(A)(1) prints both, 63 °C in round numbers."""
    page = words((await house.client.get(address)).text)
    assert re.search(r"145 °F \(62\.8 °C\)", page) and not re.search(r"145 °F(?! \()", page)


async def test_the_minimums_of_a_trial_too(house: Any) -> None:
    """165 °F for wild game: Food Code 3-401.11(A)(3)."""
    page = words((await house.client.get("/trials/venison-haunch-damson")).text)
    assert "165 °F (73.9 °C)" in page


async def test_money_and_weights_have_the_kitchen_s_mark(comma: Any, house: Any) -> None:
    """The same order, dish and lot as with a point."""
    for address in ("/orders/saltby-dairy", f"/cost/{DISH}", "/ageing", "/menu-on"):
        here, there = [words((await one.client.get(address)).text) for one in (comma, house)]
        assert re.search(r"[0-9],[0-9]{2}\b", here) and not re.search(r"(?<![0-9.])[0-9]+\.[0-9]{2}(?![0-9.])", here)
        assert re.search(r"[0-9]\.[0-9]{2}\b", there)


@pytest.mark.parametrize("address", ["/suppliers/hollow-creek-boats", "/menu", "/cost/butcher?weight=28,5+kg&price=9"])
async def test_no_point_can_be_read_as_thousands(comma: Any, address: str) -> None:
    """A figure of three decimals with a point (6.123) is six thousand to who writes a comma; 2,216 plates are two."""
    answer = await comma.client.get(address)
    page = words(answer.text)
    assert answer.status_code == 200
    assert not re.search(r"(?<![0-9.-])[0-9]{1,3}\.[0-9]{3,}(?![0-9.])", page)
    assert not re.search(r"(?<![0-9,])[0-9]{1,3},[0-9]{3} plates", page)


async def test_data_has_a_point_in_every_kitchen(comma: Any, house: Any) -> None:
    here, there = [(await one.client.get(f"/cost/{DISH}.json")).json() for one in (comma, house)]
    assert here["cost"] == there["cost"] and here["items"] == there["items"]


async def test_a_file_is_parted_as_a_spreadsheet_of_that_kitchen_reads_it(comma: Any, house: Any) -> None:
    """Commas would put each row into one cell, and 9.11 into the ninth of November."""
    here, there = [(await one.client.get("/cost.csv")).text.splitlines() for one in (comma, house)]
    assert here[0] == there[0].replace(",", ";").replace("; GBP", ", GBP").replace('"', "")
    assert re.search(r";[0-9]+,[0-9]+;", here[1]) and len(here) == len(there)


def test_the_words_of_numbers() -> None:
    """Thousands are parted by a thin space where the comma marks decimals, and °F with a comma are left alone."""
    from fractions import Fraction

    before = OWN_WAY.set(Way(",", "metric"))
    try:
        assert money(Fraction(123456, 100), "EUR") == "1\u202f234,56 EUR"
        assert amount(Fraction(1250), "g") == "1,25 kg" and percent(Fraction(279, 1000)) == "27,9 %"
        assert fahrenheit(165.0) == "165 °F (73,9 °C)" and beside_celsius("134,6 °F") == "134,6 °F"
    finally:
        OWN_WAY.reset(before)


def test_how_many_times_is_not_read_as_one_and_a_half() -> None:
    """500 kg where 300 g were to come: 1,667 times is less than two to who writes a comma."""
    from fractions import Fraction

    before = OWN_WAY.set(Way(",", "metric"))
    try:
        asked = far("500 kg", Fraction(500000), Fraction(300), "the list")
    finally:
        OWN_WAY.reset(before)
    assert asked is not None and "1\u202f667 times" in asked.question
