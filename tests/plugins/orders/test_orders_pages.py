"""Orders as the chef meets them, on the demonstration's Wednesday at one o'clock."""

from __future__ import annotations

import csv
import io
import re
import sqlite3
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

HOST = {"host": "127.0.0.1"}


@pytest.fixture
def kitchen(own_house: Any) -> Any:
    """The demonstration, to be written to."""
    return own_house


async def order(house: Any, supplier: str = "saltby-dairy") -> dict[str, Any]:
    return dict((await house.client.get(f"/orders/{supplier}.json", headers=HOST)).json()["order"])


async def send(house: Any, fields: dict[str, str], supplier: str = "saltby-dairy") -> Any:
    page = await house.client.get(f"/orders/{supplier}", headers=HOST)
    token = re.search(r'name="csrftoken" value="([^"]+)"', page.text)
    assert token
    return await house.client.post(
        f"/orders/{supplier}/change", data={**fields, "csrftoken": token[1]}, headers=HOST,
        cookies={"ds_csrftoken": page.cookies["ds_csrftoken"]},
    )  # fmt: skip


def told(house: Any, sql: str) -> list[tuple[Any, ...]]:
    connection = sqlite3.connect(house.file)
    try:
        return connection.execute(sql).fetchall()
    finally:
        connection.close()


async def test_the_dairy_on_a_wednesday(house: Any) -> None:
    """Tuesdays, Thursdays, Saturdays, ordered the day before by two: for tomorrow; butter in whole packs."""
    found = await order(house)
    assert (found["due_on"], found["cut_off"], found["then"]) == ("2026-11-26", "today by 14:00", "Saturday")
    butter = next(x for x in found["lines"] if x["item"] == "butter-salted")
    assert butter["why"].startswith("par 10 kg") and butter["amount"] == "2" and butter["quantity"] == "10 kg"
    assert "2 x Farm butter, lightly salted (SD-101), 20/250 g" in found["text"] and "GBP" not in found["text"]
    assert found["mail"].startswith("mailto:orders@saltbydairy.example?subject=")


async def test_a_day_without_the_boats(house: Any) -> None:
    """Friday is off: what is ordered for Thursday lasts until Saturday."""
    found = await order(house, "hollow-creek-boats")
    assert (found["due_on"], found["then"]) == ("2026-11-26", "Saturday")


async def test_a_minimum_is_told(house: Any) -> None:
    """The produce market's 40 is not reached."""
    assert "below their minimum of 40.00 GBP" in (await order(house, "market-hill-produce"))["lacks"]


def test_every_reason_of_the_demonstration_leads_to_its_quantity(demo_db: Path) -> None:
    """Days, what is there by then, what is short, packs: as numbers, and as the sentence that people read."""
    from stillroom.db.cook_units import say, style_of
    from stillroom.plugins.orders.answer import why_said
    from stillroom.plugins.orders.compute import packed
    from stillroom.plugins.orders.rows import orders_of, read_market

    connection = sqlite3.connect(demo_db)
    market = read_market(connection)
    connection.close()
    lines = [one for found in orders_of(market) for one in found.lines]
    assert len(lines) > 30
    for one in lines:
        said, words = one.line, why_said(market, one)
        assert one.quantity == packed(said.need - said.there, one.product.pack_quantity, one.item.unit)[0]
        style = style_of(market.coming.said)
        parts = [say(q, one.item.unit, style).text for q in (said.need, said.short, one.quantity)]
        if one.quantity:
            assert words.startswith((f"need {parts[0]} ", f"par {parts[0]} ")) and f": {parts[1]} short" in words
            assert words.endswith(f" {parts[2]}") or said.short == one.quantity
        else:
            assert words.startswith("nothing wanted") or words.endswith("enough")


async def test_what_lacks_today_is_said_with_nothing_to_order(house: Any) -> None:
    """Fish bones: a kilogram too little today, none wanted after it comes; no price of nothing."""
    (bones,) = [x for x in (await order(house, "hollow-creek-boats"))["lines"] if x["item"] == "fish-bones"]
    assert (bones["quantity"], bones["price"], bones["why"]) == ("none", "", "nothing wanted tomorrow to Friday")
    assert any("before it comes: 1 kg too little" in note for note in bones["notes"])


async def test_what_a_person_changed_is_kept(kitchen: Any) -> None:
    """Three packs instead of two, of whoever changed it, the sums' own beside it; twice sent it is one line."""
    fields = {"due_on": "2026-11-26", "n-butter-salted": "3", "request_id": "c1", "do": "keep"}
    assert [(await send(kitchen, fields)).status_code for _ in "ab"] == [303, 303]
    butter = next(x for x in (await order(kitchen))["lines"] if x["item"] == "butter-salted")
    assert (butter["amount"], butter["quantity"], butter["by"], butter["was"]) == ("3", "15 kg", "household", "10 kg")
    assert told(kitchen, "select count(*) from order_lines") == [(1,)]


async def test_a_sent_order_is_expected_at_the_door(kitchen: Any) -> None:
    """Each line is a delivery to come, the receipt form knows it, and the next order does not ask again."""
    lines = (await order(kitchen))["lines"]
    fields = {f"n-{x['item']}": x["amount"] for x in lines}
    await send(kitchen, {**fields, "due_on": "2026-11-26", "request_id": "s1", "do": "send"})
    expected = told(kitchen, "select item_id, ordered, received, due_on from deliveries where origin = 'web'")
    assert len(expected) == len(lines) and ("butter-salted", "10000", "0", "2026-11-26") in expected
    again = await order(kitchen)
    assert again["sent_by"] == "household"
    second = await send(kitchen, {**fields, "due_on": "2026-11-26", "request_id": "s2", "do": "send"})
    assert "already" in second.headers["location"]
    assert told(kitchen, "select count(*) from deliveries where origin = 'web'") == [(len(lines),)]
    form = await kitchen.client.get("/log/delivery", headers=HOST)
    assert "butter, salted" in form.text and "Saltby Dairy" in form.text


async def test_a_sent_order_blames_nobody_for_what_nobody_changed(kitchen: Any) -> None:
    """Only the cream is changed: after sending, butter and buttermilk have no name beside them, and the same reason."""
    before = {x["item"]: x for x in (await order(kitchen))["lines"]}
    cream = next(item for item in before if "cream" in item)
    fields = {f"n-{item}": x["amount"] for item, x in before.items()} | {f"n-{cream}": "3"}
    await send(kitchen, {**fields, "due_on": "2026-11-26", "request_id": "s1", "do": "send"})
    after = {x["item"]: x for x in (await order(kitchen))["lines"]}
    assert after.keys() == before.keys() and len(after) >= 3
    assert {item: x["by"] for item, x in after.items() if x["by"]} == {cream: "household"}
    assert (after[cream]["amount"], after[cream]["was"]) == ("3", before[cream]["quantity"])
    reasons = [{i: (x["why"], x["notes"]) for i, x in lines.items()} for lines in (before, after)]
    assert reasons[0] == reasons[1]
    page = await kitchen.client.get("/orders/saltby-dairy", headers=HOST)
    assert page.text.count("changed it; the sums said") == 1


async def test_a_page_left_open_blames_nobody_either(kitchen: Any) -> None:
    """The sums said one pack when the page was drawn and say two now: left at one, it is nobody's change."""
    untouched = {"n-butter-salted": "1", "saw-butter-salted": "1", "due_on": "2026-11-26"}
    await send(kitchen, {**untouched, "request_id": "k1", "do": "keep"})
    assert told(kitchen, "select count(*) from order_lines") == [(0,)]
    await send(kitchen, {**untouched, "request_id": "s1", "do": "send"})
    (butter,) = [x for x in (await order(kitchen))["lines"] if x["item"] == "butter-salted"]
    assert (butter["amount"], butter["by"]) == ("1", "")


async def test_who_changed_it_is_named_and_not_who_sent_it(staffed: Any) -> None:
    """Marit keeps three packs of butter, Ann sends: Marit changed it, Ann sent it."""

    async def post(role: str, **fields: str) -> None:
        page = await staffed.house.client.get("/orders/saltby-dairy", cookies=staffed.cookies[role], headers=HOST)
        token = re.search(r'name="csrftoken" value="([^"]+)"', page.text)
        assert token
        cookies = {**staffed.cookies[role], "ds_csrftoken": page.cookies["ds_csrftoken"]}
        data = {"n-butter-salted": "3", "due_on": "2026-11-26", **fields, "csrftoken": token[1]}
        address = "/orders/saltby-dairy/change"
        answer = await staffed.house.client.post(address, data=data, headers=HOST, cookies=cookies)
        assert answer.status_code == 303

    await post("chef", do="keep", request_id="k")
    await post("manager", do="send", request_id="s")
    found = await staffed.house.client.get("/orders/saltby-dairy.json", cookies=staffed.cookies["chef"], headers=HOST)
    one = found.json()["order"]
    (butter,) = [x for x in one["lines"] if x["item"] == "butter-salted"]
    assert (one["sent_by"], butter["by"], butter["was"]) == ("Ann", "Marit", "10 kg")


@pytest.mark.parametrize("number", ["two", "-1", "1.5", "=1", "1e99"])
async def test_a_number_that_cant_be(kitchen: Any, number: str) -> None:
    """400, the number still there, nothing written."""
    answer = await send(kitchen, {"due_on": "2026-11-26", "n-butter-salted": number, "request_id": "x", "do": "send"})
    assert answer.status_code == 400 and f'value="{number}"' in answer.text
    assert told(kitchen, "select count(*) from order_lines") == [(0,)]


async def test_a_passed_cut_off_is_told(kitchen: Any) -> None:
    """A form for a delivery that can no longer be had writes nothing."""
    answer = await send(kitchen, {"due_on": "2026-11-24", "n-butter-salted": "1", "request_id": "x", "do": "send"})
    assert answer.status_code == 400 and "cut-off" in answer.text


async def test_lines_to_take_away(house: Any) -> None:
    """One row a line, packs in it, and its money with the currency: together what the page says in all."""
    answer = await house.client.get("/orders.csv", headers=HOST)
    rows = list(csv.DictReader(io.StringIO(answer.text)))
    assert {"supplier", "product", "packs or weight"} <= rows[0].keys() and len(rows) > 20
    (dairy,) = {r["supplier"] for r in rows if r["item"] == "double cream"}
    total = sum(Decimal(r["for the line"]) for r in rows if r["supplier"] == dairy)
    page = (await house.client.get("/orders/saltby-dairy.json", headers=HOST)).json()["order"]
    assert page["total"] == f"{total} GBP" and {r["currency"] for r in rows} == {"GBP"}


async def test_nobody_of_that_name(house: Any) -> None:
    """404 in words."""
    assert (await house.client.get("/orders/nobody", headers=HOST)).status_code == 404


async def test_a_number_far_above_the_sums_is_asked_about(kitchen: Any) -> None:
    """100,000 packs of butter: a box beside the line; ticked, it is kept. Kept once, it is not asked about again."""
    fields = {"due_on": "2026-11-26", "n-butter-salted": "100000", "n-buttermilk": "2", "do": "keep"}
    fields["request_id"] = "c1"
    answer = await send(kitchen, fields)
    question = "100000 packs? That is 50,000 times what was to be ordered of butter"
    assert answer.status_code == 400 and question in answer.text
    assert '<input type="checkbox" name="sure-butter-salted" value="100000 packs">' in answer.text
    assert told(kitchen, "select count(*) from order_lines") == [(0,)]
    assert (await send(kitchen, {**fields, "sure-butter-salted": "100000 packs"})).status_code == 303
    assert told(kitchen, "select count(*) from order_lines") == [(2,)]
    assert (await send(kitchen, {**fields, "request_id": "c2"})).status_code == 303


async def test_an_order_as_data_names_the_fields_that_say_yes(kitchen: Any) -> None:
    """400 with `sure`; sent with it: written."""
    fields = {"due_on": "2026-11-26", "n-butter-salted": "500", "request_id": "c1", "do": "send"}
    page = await kitchen.client.get("/orders/saltby-dairy", headers=HOST)
    token = re.search(r'name="csrftoken" value="([^"]+)"', page.text)
    assert token

    async def post(more: dict[str, str]) -> Any:
        return await kitchen.client.post(
            "/orders/saltby-dairy/change.json", data={**fields, **more, "csrftoken": token[1]}, headers=HOST,
            cookies={"ds_csrftoken": page.cookies["ds_csrftoken"]},
        )  # fmt: skip

    answer = await post({})
    assert (answer.status_code, answer.json()["sure"]) == (400, {"sure-butter-salted": "500 packs"})
    assert (await post(answer.json()["sure"])).json() == {"written": True, "said": "Sent: it is expected at the door."}


@pytest.mark.parametrize(("item", "number", "words"), [
    ("double-cream", "1.5", "1.5 packs of double cream can&#39;t be ordered. Write a whole number of packs of 6/2 l"),
    ("hard-sheep-s-cheese", "-1 kg", "Write a quantity"),
])  # fmt: skip
async def test_a_refused_number_says_what_can_be_ordered(kitchen: Any, item: str, number: str, words: str) -> None:
    """Whole packs; a quantity where it comes by weight."""
    supplier = {"double-cream": "saltby-dairy"}.get(item, "harrow-quay-dry-stores")
    due = (await order(kitchen, supplier))["due_on"]
    answer = await send(kitchen, {"due_on": due, f"n-{item}": number, "request_id": "x", "do": "keep"}, supplier)
    assert answer.status_code == 400 and words in answer.text


async def test_an_order_by_weight_is_saved_as_it_stands_in_pounds(kitchen: Any) -> None:
    """Every number that the form offers of a US kitchen, 4 lb 6½ oz among them, is one that it takes."""
    with sqlite3.connect(kitchen.file) as connection:
        connection.execute("insert or replace into kitchen (key, value) values ('units', 'US')")
    found = await order(kitchen, "redmarsh-pigs")
    assert any("lb" in x["amount"] and "oz" in x["amount"] for x in found["lines"])
    fields = {f"n-{x['item']}": x["amount"] for x in found["lines"]} | {"due_on": found["due_on"], "do": "keep"}
    answer = await send(kitchen, fields, "redmarsh-pigs")
    assert answer.status_code == 303, answer.text
