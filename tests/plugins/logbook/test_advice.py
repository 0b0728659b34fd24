"""What a form says to do can be done by whoever stands at it: never a day that is none, never a change of the files."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest

Post = Callable[..., Any]
GOODS = {"supplier": "Saltby Dairy", "item": "butter, salted", "received": "10 kg"}


def told(page: Any, name: str) -> str:
    found = re.search(rf'id="{name}-wrong">([^<]*)<', page.text)
    assert found, page.text
    return found[1].replace("&#34;", '"').replace("&#39;", "'")


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("31/02/2026", '"31/02/2026" is not in the calendar. Write a day that exists: 2026-11-25.'),
        (
            "02/03/2027",
            '"02/03/2027" can be read two ways. Day and month may be either way round.'
            " Write 2027-02-03 for 3 February or 2027-03-02 for 2 March.",
        ),
        (
            "25/12/2026",
            '"25/12/2026" is not a date here. Dates are year-month-day here.'
            " Write 2026-12-25 for 25 December.",
        ),
    ],
)
async def test_a_printed_day_is_asked_for_as_a_cook_can_write_it(post: Post, typed: str, words: str) -> None:
    said = told(await post("/log/delivery", **GOODS, use_by=typed), "use_by")
    assert said == words and "settings" not in said


async def test_a_unit_without_its_measure_is_written_another_way_and_the_chef_is_told(post: Post) -> None:
    said = told(await post("/log/count", of="Mutton sausage", quantity="2 l"), "quantity")
    assert "tell the chef" in said and "Write it in kg" in said and "row" not in said
