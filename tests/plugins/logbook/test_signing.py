"""On a shared tablet an entry is signed by a person: written under their name, taken back by them, or not at all."""

from __future__ import annotations

import re
import sqlite3
from typing import Any


async def send(staffed: Any, path: str, role: str = "station", to: str = "", **typed: str) -> Any:
    """Opens a page, types into its form, sends it."""
    client, cookies = staffed.house.client, staffed.cookies[role]
    opened = await client.get(path, cookies=cookies)
    fields = dict(re.findall(r'<input type="hidden" name="([^"]*)" value="([^"]*)"', opened.text))
    return await client.post(to or path, data=fields | typed, cookies={**cookies, **dict(opened.cookies)})


async def test_without_a_pin_nothing_is_written_and_the_form_stays_filled(staffed: Any) -> None:
    """The name tapped is kept, the PIN never."""
    said = {"of": "brill", "state": "out", "note": "boat stayed in"}
    for more in ({}, {"who": "Tomasz"}, {"who": "Tomasz", "pin": "9999"}):
        answer = await send(staffed, "/log/short", **said, **more)
        assert answer.status_code == 200 and 'value="boat stayed in"' in answer.text and "9999" not in answer.text
    assert re.search(r'value="Tomasz" required checked', answer.text)
    connection = sqlite3.connect(staffed.path)
    assert connection.execute("select count(*) from shortages where origin = 'web'").fetchone() == (0,)


async def test_signed_by_the_person_and_taken_back_by_that_person_or_the_chef(staffed: Any) -> None:
    """Tomasz wrote it at the tablet; a wrong PIN takes nothing back; the chef may, with her own."""
    answer = await send(staffed, "/log/short", of="brill", state="out", who="Tomasz", pin="8264")
    assert answer.status_code == 303
    address = answer.headers["location"]
    connection = sqlite3.connect(staffed.path)
    last = "select actor, stands from shortages order by id desc limit 1"
    assert connection.execute(last).fetchone() == ("Tomasz", 1)
    refused = await send(staffed, address, to=f"{address}/back", who="Tomasz", pin="1111")
    assert refused.status_code == 200 and "not right" in refused.text
    assert connection.execute(last).fetchone() == ("Tomasz", 1)
    assert (await send(staffed, address, to=f"{address}/back", who="Marit", pin="5193")).status_code == 303
    assert connection.execute(last).fetchone() == ("Marit", 0)


async def test_what_another_wrote_on_the_same_form_is_not_taken_for_ones_own(staffed: Any) -> None:
    """A form left open at the tablet, sent by one person and then by another: the second is told, keeps what was typed,
    and sends it as an entry of their own."""
    said = {"of": "beef rib, bone in", "request": "left-open-1"}
    first = await send(staffed, "/log/hang", who="Tomasz", pin="8264", weight="9 kg", **said)
    second = await send(staffed, "/log/hang", who="Marit", pin="5193", weight="8 kg", **said)
    assert first.status_code == 303 and second.status_code == 200
    assert "Somebody wrote this down" in second.text and 'value="8 kg"' in second.text
    fresh = re.search(r'name="request" value="([^"]*)"', second.text)
    assert fresh and fresh[1] != "left-open-1"
    own = await send(staffed, "/log/hang", who="Marit", pin="5193", weight="8 kg", **said | {"request": fresh[1]})
    assert own.status_code == 303
    connection = sqlite3.connect(staffed.path)
    rows = connection.execute("select actor, start_g from ageing_lots where origin = 'web' order by id").fetchall()
    assert rows == [("Tomasz", "9000"), ("Marit", "8000")]


async def test_money_outlives_a_correction_by_whoever_does_not_see_it(staffed: Any) -> None:
    """A lot's price, its weight mended by the chef at the tablet; an order's, received by a cook. Of another: none."""
    hung = await send(staffed, "/log/hang", role="chef", of="beef rib, bone in", weight="9 kg", price="121.50")
    order = {"supplier": "saltby-dairy", "product": "Lightly salted butter", "item": "butter, salted"}
    ordered = await send(
        staffed, "/log/delivery", role="chef", **order, received="0 kg", ordered="5 kg", price="40", price_per="5 kg",
        **{"product-sure": "Lightly salted butter"},
    )  # fmt: skip
    first, second = (answer.headers["location"].rpartition("/")[2] for answer in (hung, ordered))
    mended = {"of": "beef rib, bone in", "weight": "8.9 kg", "voids": first, "who": "Marit", "pin": "5193"}
    assert (await send(staffed, "/log/hang", **mended)).status_code == 303
    came = {**order, "received": "5 kg", "voids": second, "product-sure": "Lightly salted butter"}
    answer = await send(staffed, "/log/delivery", role="cook", **came)
    assert answer.status_code == 303
    connection = sqlite3.connect(staffed.path)
    lots = connection.execute("select start_g, price from standing_ageing_lots where actor = 'Marit'").fetchall()
    assert lots == [("8900", "121.50")]
    lines = "select received, price, priced_quantity, actor from standing_deliveries where origin = 'web'"
    assert connection.execute(lines).fetchall() == [("5000", "40", "5000", "Tomasz")]
    third = (await send(staffed, "/log/hang", role="chef", of="beef rib, bone in", weight="9 kg", price="99")).headers
    other = {"of": "butter, salted", "weight": "9 kg", "voids": third["location"].rpartition("/")[2]}
    assert (await send(staffed, "/log/hang", who="Marit", pin="5193", **other)).status_code == 303
    last = "select item_id, price from ageing_lots order by id desc limit 1"
    assert connection.execute(last).fetchone() == ("butter-salted", None)
    assert "121.50" not in (await send(staffed, answer.headers["location"], role="cook")).text


async def test_an_entry_that_waited_without_its_pin_is_told_so(staffed: Any) -> None:
    """The queue keeps no PIN: the answer says what is missing, and the same number is written once it is there."""
    client, cookies = staffed.house.client, staffed.cookies["station"]
    opened = await client.get("/log/token.json", cookies=cookies)
    fields = {
        "csrftoken": opened.json()["token"],
        "request": "waited-for-pin-1",
        "of": "brill",
        "state": "out",
        "who": "Tomasz",
    }
    both = {**cookies, **dict(opened.cookies)}
    said = (await client.post("/log/short.json", data=fields, cookies=both)).json()
    assert said["written"] is False and "PIN" in said["problem"]
    for _ in range(2):
        said = (await client.post("/log/short.json", data=fields | {"pin": "8264"}, cookies=both)).json()
        assert said["written"] is True
    connection = sqlite3.connect(staffed.path)
    assert connection.execute("select count(*) from shortages where origin = 'web'").fetchone() == (1,)
