"""Slips of size are asked about once, on the page and as data; a refusal says what can be written instead."""

from __future__ import annotations

import re
import sys
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from stillroom.plugins.core.sure import Ask, far, is_sure

sys.path[:0] = [str(Path(__file__).parent)]
from test_prep_pages import TICKS, listed, rows, send, told  # noqa: E402

STARTER = {"key": "rye-starter", "state": "done", "made": "500 kg", "request_id": "s1"}


async def test_500_kg_of_a_starter_of_300_g_is_asked_about_once(kitchen: Any) -> None:
    """The form comes back with a box that says yes to just that; ticked, it is written. Another number asks anew."""
    assert rows(await listed(kitchen))["rye-starter"]["quantity"] == "300 g"
    answer = await send(kitchen, "/prep/tick", STARTER)
    assert answer.status_code == 400 and "500 kg? That is 1,667 times the list." in answer.text
    assert '<input type="checkbox" name="sure" value="500 kg">' in answer.text and told(kitchen.file, TICKS) == []
    other = await send(kitchen, "/prep/tick", {**STARTER, "made": "600 kg", "sure": "500 kg"})
    assert other.status_code == 400 and "600 kg? That is 2,000 times the list." in other.text
    assert (await send(kitchen, "/prep/tick", {**STARTER, "sure": "500 kg"})).status_code == 303
    assert told(kitchen.file, "select quantity from batches where recipe_id = 'rye-starter' and origin = 'web'") == [
        ("500000",)]  # fmt: skip


async def test_as_data_the_refusal_names_the_field_to_send(kitchen: Any) -> None:
    """400 with the words and `sure`; sent with it, it is written."""
    answer = await send(kitchen, "/prep/tick.json", STARTER)
    assert answer.status_code == 400
    assert answer.json() == {
        "written": False, "problem": "500 kg? That is 1,667 times the list.", "sure": {"sure": "500 kg"},
    }  # fmt: skip
    again = await send(kitchen, "/prep/tick.json", {**STARTER, **answer.json()["sure"]})
    assert again.status_code == 200 and again.json()["written"] is True
    twice = await send(kitchen, "/prep/tick.json", {**STARTER, **answer.json()["sure"]})
    assert twice.status_code == 400 and twice.json()["sure"] == {} and "already" in twice.json()["problem"]


@pytest.mark.parametrize("made", ["300 g", "1.2 kg", "4 batches", "50 g"])
async def test_what_is_near_the_list_is_not_asked_about(kitchen: Any, made: str) -> None:
    """Up to four times."""
    assert (await send(kitchen, "/prep/tick", {**STARTER, "made": made})).status_code == 303


@pytest.mark.parametrize(("made", "words"), [
    ("0 kg", "0 kg is nothing. Write how much was made, above 0."),
    ("9999999999 kg", "9999999999 kg can&#39;t be. Write less than"),
])  # fmt: skip
async def test_a_refusal_says_what_can_be_written(kitchen: Any, made: str, words: str) -> None:
    answer = await send(kitchen, "/prep/tick", {**STARTER, "made": made})
    assert answer.status_code == 400 and words in answer.text


COVERS = {"on": "2026-11-25", "service": "dinner", "number": "5000", "request_id": "o1"}
BRILL = "brill-on-the-bone-buttered-samphire"


@pytest.mark.parametrize(("more", "words"), [
    ({}, "times the most guests ever written down"),
    ({"dish": BRILL, "number": "700"}, "700? That is more plates than guests"),
])  # fmt: skip
async def test_5000_guests_are_asked_about(kitchen: Any, more: dict[str, str], words: str) -> None:
    """Its own form once more on the day's page, with a button that says yes; without JavaScript, of course."""
    answer = await send(kitchen, "/prep/overrule", {**COVERS, **more})
    assert answer.status_code == 400 and words in answer.text
    assert told(kitchen.file, "select count(*) from forecast_overrules where origin = 'web'") == [(0,)]
    begin = r'<form method="post" action="/prep/overrule" class="inline">'
    form = re.search(begin + r'(?:(?!</form>).)*name="sure".*?</form>', answer.text, re.S)
    assert form
    fields = dict(re.findall(r'name="([a-z_]+)" value="([^"]*)"', form[0]))
    fields.pop("csrftoken")
    assert (await send(kitchen, "/prep/overrule", fields)).status_code == 303
    number = int({**COVERS, **more}["number"])
    assert told(kitchen.file, "select number from forecast_overrules where origin = 'web'") == [(number,)]


async def test_guests_as_data(kitchen: Any) -> None:
    """The same words, the field to send; 80 where 36 are expected is nobody's slip."""
    answer = await send(kitchen, "/prep/overrule.json", COVERS)
    assert answer.status_code == 400 and answer.json()["sure"] == {"sure": "5000"}
    assert (await send(kitchen, "/prep/overrule.json", {**COVERS, **answer.json()["sure"]})).json()["written"] is True
    near = {**COVERS, "number": "80", "request_id": "o2"}
    assert (await send(kitchen, "/prep/overrule.json", near)).status_code == 200


def test_nothing_usual_asks_nothing() -> None:
    """What nobody knows the size of can't be far from it; the box says yes to one number only."""
    assert far("9", Fraction(9), Fraction(0), "the list") is None and far("4", Fraction(4), Fraction(1), "x") is None
    assert far("5", Fraction(5), Fraction(1), "the list") == Ask("5? That is 5 times the list.", "5")
    assert is_sure({"sure": "5"}, Ask("", "5")) and not is_sure({"sure": "50"}, Ask("", "5"))


@pytest.mark.parametrize(("key", "made", "words"), [
    ("rye-starter", "1", "&#34;1&#34; has no unit. Write 1 kg or 1 g."),
    ("ale-batter", "0.6", "&#34;0.6&#34; has no unit. Write 0.6 l or 0.6 ml."),
])  # fmt: skip
async def test_a_number_without_a_unit_is_no_quantity_of_what_is_weighed(
    kitchen: Any, key: str, made: str, words: str
) -> None:
    """1 beside "1 kg" may be a kg or a g: nothing is written. A count needs no unit, nor does an empty field."""
    answer = await send(kitchen, "/prep/tick", {"key": key, "state": "part", "made": made, "request_id": "u1"})
    assert answer.status_code == 400 and words in answer.text and told(kitchen.file, TICKS) == []
    counted = {"key": "brill-portion", "state": "part", "made": "2", "request_id": "u2"}
    assert (await send(kitchen, "/prep/tick", counted)).status_code == 303
    as_asked = {"key": key, "state": "done", "made": " ", "request_id": "u3"}
    assert (await send(kitchen, "/prep/tick", as_asked)).status_code == 303
    found = told(kitchen.file, f"select quantity from batches where recipe_id = '{key}' and origin = 'web'")
    assert found == [({"rye-starter": "300", "ale-batter": "500"}[key],)]
