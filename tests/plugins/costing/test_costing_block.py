"""The butcher test's form: units, refusals, and weight that nobody accounts for."""

from __future__ import annotations

from fractions import Fraction as F
from typing import Any
from urllib.parse import urlencode

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stillroom.plugins.costing.block import read, reckon
from stillroom.plugins.costing.butcher import BY_WEIGHT, Refused

TWO = F(2, 100)
RIB = {"weight": "28 lb", "price": "1.30", "weight1": "3 lb", "price1": "0.10", "weight2": "64 oz", "price2": "0.30",
       "weight3": "5", "price3": "1.30"}  # fmt: skip


def test_the_school_sheet_with_units() -> None:
    """Rib 103 to 109, 28 lb at $1.30 a lb (culinary-school sheet): $28.40 over 16 lb; ounces and bare numbers agree."""
    form = read(RIB, ".", [])
    assert form is not None and form.unit == "lb"
    found = reckon(form, BY_WEIGHT, TWO, False)
    assert found.test is not None
    assert (found.test.cost, found.test.usable, found.test.each) == (F("28.4"), 16, F("1.775"))
    assert found.said == "What is left, 16 lb, is taken as usable."


@pytest.mark.parametrize(
    "change, words",
    [
        ({"weight1": "-3"}, "weight of line 1: -3 is no weight"),
        ({"weight": "-28 lb"}, "weight of the whole: -28 lb is no weight"),
        ({"price1": "-0.10"}, "market price of line 1: -0.10 is below nothing"),
        ({"price": "-1"}, "price of the whole: -1 is below nothing"),
        ({"weight1": "3 l"}, "l is not a unit of weight"),
        ({"weight1": "three"}, "is not a number"),
        ({"weight": "28", "weight2": "4"}, "line 1 is in lb: say the unit of the whole too"),
        ({"weight": "0 lb"}, "no weight or no price"),
        ({"weight1": ""}, "Line 1: say what it weighs"),
        ({"weight1": "9" * 31}, "is no weight"),
    ],
)
def test_a_wrong_figure_gives_no_figure(change: dict[str, str], words: str) -> None:
    """Each is said, and nothing is reckoned from the rest."""
    wrong: list[str] = []
    assert read(RIB | change, ".", wrong) is None
    assert len(wrong) == 1 and words in wrong[0]


def portions(**other: str) -> Any:
    """10 kg at 10, three portions of 3 kg, and what is said beside."""
    rows = {f"weight{n}": "3" for n in (1, 2, 3)} | {f"use{n}": "sold" for n in (1, 2, 3)}
    wrong: list[str] = []
    form = read({"weight": "10 kg", "price": "10", **rows, **other}, ".", wrong)
    assert form is not None and not wrong
    return form


def test_what_is_not_accounted_for_is_asked() -> None:
    """One kilogram of ten is missing: no figure before the answer; then it is loss, and 90 % is usable."""
    asked = reckon(portions(), BY_WEIGHT, TWO, False)
    assert asked.test is None and asked.shares == ()
    assert asked.ask == "1 kg of 10 kg, 10.0 %, is not accounted for. Is it loss?"
    loss = reckon(portions(), BY_WEIGHT, TWO, True)
    assert loss.test is not None and (loss.test.usable, loss.test.share) == (9, F(9, 10))
    assert [c for _, c in loss.shares] == [3334, 3333, 3333] and "counted as loss" in loss.said


def test_within_the_tolerance_it_is_loss_and_said() -> None:
    """0.2 of 10 is the kitchen's 2 %: not asked, and the page says so."""
    found = reckon(portions(weight4="0.8"), BY_WEIGHT, TWO, False)
    assert found.test is not None and found.test.usable == 9
    assert found.said == "0.2 kg of 10 kg, 2.0 %, is not accounted for: counted as loss."
    more = reckon(portions(weight4="1.1"), BY_WEIGHT, TWO, False)
    assert more.test is not None and "came out more than went in" in more.said


def test_more_out_than_in_is_refused() -> None:
    """Half a kilogram too much is over the tolerance."""
    with pytest.raises(Refused, match=r"0\.5 kg of 10 kg, 5\.0 % too much"):
        reckon(portions(weight4="1.5"), BY_WEIGHT, TWO, True)


weights = st.lists(st.integers(1, 400), min_size=1, max_size=3)


@given(weights, weights, st.integers(0, 300))
def test_weight_in_is_weight_out(sold: list[int], left: list[int], missing: int) -> None:
    """What is usable is what is sold, whatever is missing, once it is answered for."""
    rows = {f"weight{n}": f"{w} g" for n, w in enumerate([*sold, *left], 1)}
    rows |= {f"use{n}": "sold" for n in range(1, len(sold) + 1)}
    whole = sum(sold) + sum(left) + missing
    form = read({"weight": f"{whole} g", "price": "9", **rows}, ".", [])
    assert form is not None
    found = reckon(form, BY_WEIGHT, TWO, True)
    assert found.test is not None and found.test.usable == sum(sold)
    assert sum(c for _, c in found.shares) == round(found.test.cost * 100)


async def test_on_the_page(house: Any) -> None:
    """The question with its box, the answer, and a negative weight refused."""
    query = {"weight": "10 kg", "price": "10"} | {f"weight{n}": "3" for n in (1, 2, 3)}
    query |= {f"use{n}": "sold" for n in (1, 2, 3)}
    page = (await house.client.get("/cost/butcher?" + urlencode(query))).text
    assert "1 kg of 10 kg, 10.0 %, is not accounted for. Is it loss?" in page and 'name="loss"' in page
    assert "Usable weight" not in page
    page = (await house.client.get("/cost/butcher?" + urlencode(query | {"loss": "yes"}))).text
    assert "<dd>9 kg</dd>" in page and "90.0 %" in page
    refused = (await house.client.get("/cost/butcher.json?weight=28&price=1.30&weight1=-3")).json()
    assert refused["test"] is None and "-3 is no weight" in refused["wrong"][0]
