"""Numbers in digits, from forms and addresses: however long, with zeros in front or in other digits, no page breaks."""

from __future__ import annotations

import re
from typing import Any

import pytest
from stillroom.db.number import whole

LONG = "9" * 5000  # Python reads no text of more than 4300 digits as a number
ODD = [LONG, "000000001" + LONG, "000001" + LONG, "001" + LONG, "0101", "²", "٣", "1e400", "-1", "+1", "1_0", " 1", ""]


def test_digits_within_bounds() -> None:
    """Zeros in front are no more than zeros; white space at the ends is none of a number's."""
    assert [whole(text, 10) for text in ("0", "10", "007", " 3 ", "11", "-1", "+1", "1_0", "3.0", "")] == [
        0, 10, 7, 3, None, None, None, None, None, None,
    ]  # fmt: skip
    assert whole("0", 10, 1) is None and whole("0" * 6000 + "4", 10) == 4
    assert [whole(text, 10) for text in ("²", "٣", "①", LONG, "\x00", "1\x00")] == [None] * 6


@pytest.mark.parametrize("text", ODD)
async def test_no_form_breaks_over_digits(staffed: Any, text: str) -> None:
    """Every field and address of the kitchen that takes a whole number answers in words, or as though it said none."""
    client, cookies = staffed.house.client, dict(staffed.cookies["chef"])
    page = await client.get("/trials/venison-haunch-damson", cookies=cookies)
    cookies |= dict(page.cookies)
    token = re.search(r'name="csrftoken" value="([^"]*)"', page.text)
    assert token
    trial = "/trials/venison-haunch-damson"
    logger = {"text": "time,temp\\n0,50\\n60,60", "clock": "minutes", "temp": "temp", "do": "read", "label": "fridge"}
    forms = [
        (f"{trial}/taste", {"version": "1", "score": text, "words": "good", "request": "taste-it"}),
        (f"{trial}/taste", {"version": text, "score": "5", "request": "taste-it-2"}),
        (f"{trial}/promote", {"version": text, "request": "promote-it"}),
        (f"{trial}/take-back", {"promotion": text}),
        (f"{trial}/edit", {"seen": text, "based_on": text, "rows": text, "request": "edit-it"}),
        ("/ageing/promise", {"lot": "M-0340", "portions": text, "on": "2026-12-01", "portion": "200 g"}),
        ("/ageing/promise/back", {"entry": text}),
        ("/prep/undo", {"tick": text}),
        ("/prep/overrule", {"on": "2026-11-25", "service": "dinner", "number": text}),
        ("/calendar/take-back", {"feed": text}),
        ("/changes/read", {"change": text}),
        ("/doneness/readings/import", {**logger, "at": text}),
        ("/log/hang", {"of": "beef rib, bone in", "weight": "9 kg", "days": text, "voids": text}),
    ]
    for path, fields in forms:
        answer = await client.post(path, data={"csrftoken": token[1], **fields}, cookies=cookies)
        assert answer.status_code in {200, 303, 400, 404, 409}, (path, answer.status_code)
    asked = [f"{trial}/edit?from={text}", f"{trial}/compare?v={text}&v=1", f"/cost?days={text}&basis=average",
             f"/cost/what-if?recipe=ale-batter&line={text}&quantity=3", f"/batch/1/labels?copies={text}&used={text}",
             f"/doneness/readings/import?at={text}"]  # fmt: skip
    for path in asked:
        answer = await client.get(path.replace("+", "%2B").replace(" ", "%20"), cookies=cookies)
        assert answer.status_code in {200, 404}, (path, answer.status_code)
