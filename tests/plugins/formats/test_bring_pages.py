"""A saved page through the front door, in the letters that it is written in."""

from __future__ import annotations

from typing import Any

import pytest

RDFA = (
    "<!DOCTYPE html><html><head>{}<title>x</title></head><body vocab='https://schema.org/'><div typeof=Recipe>"
    "<h1 property=name>Pâté à l’œuf</h1><ul><li property=recipeIngredient>60 g leeks</ul></div></body></html>"
)


async def bring(house: Any, data: bytes) -> Any:
    """/import with a file."""
    return await house.client.post("/import", files={"file": ("page.html", data, "text/html")}, data={"text": ""})


@pytest.mark.parametrize(
    ("data", "note"),
    [
        (b"\xff\xfe" + RDFA.format("").encode("utf-16-le"), ""),
        (b"\xfe\xff" + RDFA.format("").encode("utf-16-be"), ""),
        (RDFA.format("").encode("utf-8-sig"), ""),
        (RDFA.format("<meta charset='ISO-8859-1'>").encode("cp1252"), ""),
        (RDFA.format("").encode("cp1252"), "read as Windows-1252. Look at accents."),
    ],
)
async def test_a_page_in_other_letters_is_read(house: Any, data: bytes, note: str) -> None:
    """Name and lines are there, accents and all; where it was a guess, that is said."""
    answer = await bring(house, data)
    assert answer.status_code == 200 and "<h2>Pâté à l’œuf <span" in answer.text and "60 g leeks" in answer.text
    assert ("Windows-1252" in answer.text) == bool(note) and note in answer.text


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (RDFA.format("<meta charset=utf-8>").encode("cp1252"), "it says UTF-8, and byte"),
        (b"\xff\xfe" + RDFA.format("").encode("utf-16-le")[:-1], "the mark in front says UTF-16LE, and"),
        (RDFA.format("").encode("utf-16-le"), "there are empty bytes in it, as in UTF-16 without a mark in front"),
    ],
)
async def test_bytes_that_can_not_be_read_are_told(house: Any, data: bytes, words: str) -> None:
    """Never as a page without a recipe."""
    answer = await bring(house, data)
    assert answer.status_code == 400 and words in answer.text and "no recipe" not in answer.text


async def test_what_is_pasted_is_text_already(house: Any) -> None:
    """Whatever it says of its letters."""
    text = RDFA.format("<meta charset=koi8-r>")
    answer = await house.client.post("/import", data={"text": text})
    assert answer.status_code == 200 and "<h2>Pâté à l’œuf <span" in answer.text
    assert (await house.client.post("/import", data={"text": " "})).status_code == 400
