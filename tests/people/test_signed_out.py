"""A sign-in that ends while a form is open: what was typed is kept, and is written once somebody has signed in."""

from __future__ import annotations

import re
import sqlite3
from html import unescape
from typing import Any

FIELD = re.compile(r'<input type="hidden" name="([^"]+)" value="([^"]*)">')
DELIVERY = {
    "supplier": "Mere End Farm", "item": "beef rib, bone in", "received": "20", "received-unit": "kg",
    "lot": "MEF<b>1", "request": "kept-1-of-the-test",
}  # fmt: skip


async def sent(staffed: Any, role: str, path: str, fields: dict[str, str]) -> Any:
    """A form as somebody of this role sends it, with the token of the browser that opened it."""
    cookies = dict(staffed.cookies[role])
    client = staffed.house.client
    page = await client.get("/sign-in", cookies=cookies)
    cookies["ds_csrftoken"] = page.cookies["ds_csrftoken"]
    token = re.search(r'name="csrftoken" value="([^"]+)"', page.text)
    assert token
    return await client.post(path, data={**fields, "csrftoken": token[1]}, cookies=cookies)


def receipts(staffed: Any) -> list[tuple[str, str]]:
    """Who wrote the receipts of the lot."""
    connection = sqlite3.connect(staffed.house.get_database("kitchen").path)
    found = connection.execute("select actor, received from deliveries where lot_code = 'MEF<b>1'").fetchall()
    connection.close()
    return found


async def test_a_delivery_outlives_the_sign_in_under_which_it_was_begun(staffed: Any) -> None:
    """401, nothing written, every field on the page but the PIN; sent again by a cook it is written, and only once."""
    ended = await sent(staffed, "anonymous", "/log/delivery", {**DELIVERY, "pin": "8264"})
    assert ended.status_code == 401 and "Your sign-in ended" in ended.text and receipts(staffed) == []
    assert 'href="/sign-in" target="_blank"' in ended.text and "MEF&lt;b&gt;1" in ended.text
    assert 'action="/log/delivery"' in ended.text and "8264" not in ended.text
    kept = {name: unescape(value) for name, value in FIELD.findall(ended.text) if name != "csrftoken"}
    assert kept == DELIVERY
    for _ in range(2):
        assert (await sent(staffed, "cook", "/log/delivery", kept)).status_code == 303
    assert receipts(staffed) == [("Tomasz", "20000")]


async def test_a_tick_outlives_it_too(staffed: Any) -> None:
    """Its address has no page of its own to come back to."""
    tick = {"key": "ale-batter", "state": "done", "made": "600 ml", "request_id": "t1"}
    ended = await sent(staffed, "anonymous", "/prep/tick", tick)
    assert ended.status_code == 401 and 'action="/prep/tick"' in ended.text and 'value="600 ml"' in ended.text
    assert (await sent(staffed, "cook", "/prep/tick", tick)).status_code == 303


async def test_secrets_and_data_are_not_kept(staffed: Any) -> None:
    """A form of accounts leads to the door as before; data gets one line."""
    account = await sent(staffed, "anonymous", "/account", {"old": "secret one", "pin": "1234"})
    assert account.status_code == 303 and account.headers["location"].startswith("/sign-in?")
    said = await sent(staffed, "anonymous", "/log/delivery.json", DELIVERY)
    assert said.status_code == 401 and said.json() == {"error": "Sign in first."}
