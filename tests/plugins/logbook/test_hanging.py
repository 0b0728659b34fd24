"""A lot hung from the browser: what is refused, what is asked, one row a request, taken back, traced, dumped."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl

import pytest
from stillroom.loaders.build import build
from stillroom.loaders.dump import dump
from stillroom.plugins.core.sign import Writer
from stillroom.plugins.logbook.book import open_book
from stillroom.plugins.logbook.entries import Gone, put
from stillroom.plugins.logbook.forms import FORMS
from stillroom.plugins.logbook.pages import read_form

NOW = datetime(2026, 11, 25, 18, 0, tzinfo=UTC)
RIB = "beef rib, bone in"
Post = Callable[..., Any]
Roles = Callable[..., dict[str, str]]


def words(page: Any) -> str:
    text = re.sub(r"<[^>]+>", " ", page.text[page.text.index("<main") :])
    return " ".join(text.split())


def one(path: Path, question: str, *values: Any) -> Any:
    with sqlite3.connect(path) as connection:
        return connection.execute(question, values).fetchone()


def receipt_of(path: Path, item: str) -> tuple[int, str, float]:
    """The newest delivery of an item: id, lot code, grams kept."""
    return one(  # type: ignore[no-any-return]
        path, "select id, lot_code, cast(received as real) - cast(rejected as real) from standing_deliveries"
        " where item_id = ? and cast(received as real) > 0 order by received_on desc, id desc", item,
    )  # fmt: skip


def new_receipt(path: Path, on: str = "2026-11-25") -> tuple[int, str]:
    """One more delivery of ribs, of which nothing hangs yet: its id and lot code."""
    with sqlite3.connect(path) as connection:
        connection.execute(
            "insert into deliveries (request_id, recorded_at, actor, origin, received_on, supplier_id, item_id,"
            " product_id, kind, document, ordered, received, rejected, unit, door_temp_f, price, priced_quantity,"
            " lot_code) select 'one-more', recorded_at, actor, 'web', ?, supplier_id, item_id, product_id,"
            " kind, 'MEF-9999', ordered, '19870', '0', unit, door_temp_f, price, priced_quantity, 'MEF269999'"
            " from standing_deliveries"
            " where item_id = 'beef-rib-bone-in' order by id desc limit 1", (on,),
        )  # fmt: skip
    return one(path, "select id, lot_code from deliveries where request_id = 'one-more'")  # type: ignore[no-any-return]


def taken(path: Path, **typed: str) -> Any:
    """What the form's fields come to, and the row where nothing is wrong or asked."""
    form = FORMS["hang"]
    said = {name.replace("__", "-"): text for name, text in typed.items()}
    with sqlite3.connect(path) as connection:
        book = open_book(connection, form, said, NOW)
    found = read_form(form, said, book, True)
    return found, None if found.wrong or found.ask else form.rows(found.values, book)[0][1]


def test_a_receipt_and_a_weight_are_enough(own_db: Path) -> None:
    """Item and cut come of the receipt, the days are those of most of the last lots; the link is the delivery."""
    key, _ = new_receipt(own_db)
    _, row = taken(own_db, receipt=f"receipt {key}", weight="9.35 kg")
    assert (row["item_id"], row["cut_recipe_id"], row["delivery_id"]) == ("beef-rib-bone-in", "beef-rib-steak", key)
    assert (row["start_g"], row["started_on"], row["target_days"]) == ("9350", "2026-11-25", 35)
    _, row = taken(own_db, of="butter, salted", weight="5 kg", days="20")
    assert (row["cut_recipe_id"], row["delivery_id"], row["target_days"]) == (None, None, 20)


@pytest.mark.parametrize(
    ("typed", "field", "why"),
    [
        ({"weight": "0 kg"}, "weight", "above zero"),
        ({"weight": "-3 kg"}, "weight", "above zero"),
        ({"cut": "Mutton loin chop"}, "cut", "is cut from marsh mutton saddle, not from beef rib"),
        ({"days": "0"}, "days", "from 1 to 400"),
        ({"days": "3.5"}, "days", "whole number"),
        ({"on": "2026-11-30"}, "on", "has not come yet"),
        ({"lot": "B-0158"}, "lot", "There is a lot B-0158 already"),
        ({"lot": "b-0158"}, "lot", "There is a lot b-0158 already"),
        ({"lot": "B/1"}, "lot", "letters, digits and dashes"),
        ({"lot": "plan"}, "lot", "letters, digits and dashes"),
        ({"of": "unicorn"}, "of", "There is no"),
    ],
)
def test_what_can_not_be_is_refused_with_the_reason(
    demo_db: Path, typed: dict[str, str], field: str, why: str
) -> None:
    found, row = taken(demo_db, **{"of": RIB, "weight": "9.35 kg", **typed})
    assert row is None and why in found.wrong[field]


@pytest.mark.parametrize("role", ["cook", "station", "chef"])
async def test_a_price_is_offered_to_the_office_alone(own_house: Any, as_role: Roles, role: str) -> None:
    """Neither the form nor the same as data, nor either of them once it was refused, has a field for money."""
    page = await own_house.client.get("/log/hang", cookies=as_role(role))
    token = re.search(r'name="csrftoken" value="([^"]*)"', page.text)
    assert token
    cookies = {**as_role(role), **dict(page.cookies)}
    typed = {"csrftoken": token[1], "of": "unicorn", "weight": "9 kg", "price": "7654321"}
    answers = [page, await own_house.client.get("/log/hang.json", cookies=as_role(role))]
    answers += [await own_house.client.post(f"/log/hang{kind}", data=typed, cookies=cookies) for kind in ("", ".json")]
    assert [answer.status_code for answer in answers] == [200] * 4
    for answer in answers:
        assert ("Paid for the whole piece" in answer.text) == (role == "chef")
        assert role == "chef" or "7654321" not in answer.text


def test_a_piece_comes_of_its_receipt(demo_db: Path) -> None:
    """Not of another item, not before it came, not heavier than all that came."""
    key, _, came = receipt_of(demo_db, "marsh-mutton-saddle")
    said = {"receipt": f"receipt {key}", "weight": "7 kg"}
    assert "is not beef rib" in taken(demo_db, of=RIB, **said)[0].wrong["of"]
    assert "before it came: today" in taken(demo_db, on="2026-11-24", **said)[0].wrong["on"]
    found, _ = taken(demo_db, receipt=said["receipt"], weight=f"{came * 1.1:.0f} g")
    assert "came in that delivery" in found.wrong["weight"]


def test_what_is_unlikely_is_asked_once_and_only_for_that_number(demo_db: Path) -> None:
    """Ribs weighed 9.21 to 10.78 kg before: pounds for kilograms are asked; so are 150 days."""
    found, _ = taken(demo_db, of=RIB, weight="21.5", weight__unit="lb", weight__sure="")
    assert not found.ask
    found, _ = taken(demo_db, of=RIB, weight="22", weight__unit="kg")
    assert "weighed 9.21 kg to 10.78 kg before" in found.ask["weight"]
    _, row = taken(demo_db, of=RIB, weight="22", weight__unit="kg", weight__sure="22 kg")
    assert row["start_g"] == "22000"
    assert "weight" in taken(demo_db, of=RIB, weight="4", weight__unit="kg", weight__sure="22 kg")[0].ask
    assert "more than usual" in taken(demo_db, of=RIB, weight="9 kg", days="150")[0].ask["days"]


async def test_a_double_tap_is_one_lot_and_the_ageing_page_has_it(own_db: Path, own_house: Any, post: Post) -> None:
    """One row with the next code; on /ageing without a forecast; the weigh-in form offers it, and goes on from it."""
    (before,) = one(own_db, "select count(*) from ageing_lots")
    for _ in range(2):
        answer = await post("/log/hang", request="hung-twice-1", of=RIB, weight="9.35 kg", place="Ageing room, hook 7")
        assert answer.status_code == 303
    assert one(own_db, "select count(*) from ageing_lots") == (before + 1,)
    code, days = one(own_db, "select lot_code, target_days from ageing_lots order by id desc")
    assert re.fullmatch(r"A[0-9]{6}-1", code) and days == 35
    said = words(await own_house.client.get(answer.headers["location"]))
    assert f"Write {code} on the piece" in said and "Weight at the start 9.35 kg" in said and "hook 7" in said
    lots = {x["lot"]: x for x in (await own_house.client.get("/ageing.json")).json()["lots"]}
    assert lots[code]["refused"] == "0 weighings after the start; a forecast needs 3"
    assert lots[code]["start_g"] == lots[code]["weight_g"] == "9350"
    assert code in (await own_house.client.get("/log/weigh")).text
    asked = await post("/log/weigh", of=code, weight="9.6 kg")
    assert "It weighed 9.35 kg last time" in words(asked)


async def test_who_hangs_and_who_takes_it_back(own_db: Path, own_house: Any, post: Post, as_role: Roles) -> None:
    """A cook hangs without seeing money; another cook may not take it back, the chef may; a server may do neither."""
    ann, bea, chef = as_role("cook", "ann"), as_role("cook", "bea"), as_role("chef", "carl")
    assert 'name="price"' not in (await own_house.client.get("/log/hang", cookies=ann)).text
    assert 'name="price"' in (await own_house.client.get("/log/hang", cookies=chef)).text
    answer = await post("/log/hang", cookies=ann, of=RIB, weight="9.35 kg", price="150")
    address = answer.headers["location"]
    entry = int(address.rsplit("/", 1)[1])
    assert one(own_db, "select actor, price from ageing_lots where id = ?", entry) == ("ann", None)
    data = [(await own_house.client.get(f"{address}.json", cookies=who)).json() for who in (ann, bea, chef)]
    assert [d["may be taken back"] for d in data] == [True, False, True]
    for path in ("/log/hang", address):
        assert (await own_house.client.get(path, cookies=as_role("server"))).status_code == 403
    opened = await own_house.client.get(address, cookies=chef)
    token = re.search(r'name="csrftoken" value="([^"]*)"', opened.text)
    assert token
    cookies = {**chef, **dict(opened.cookies)}
    for _ in range(2):
        await own_house.client.post(f"{address}/back", data={"csrftoken": token[1]}, cookies=cookies)
    assert one(own_db, "select count(*) from ageing_lots where voids = ?", entry) == (1,)
    assert one(own_db, "select 1 from standing_ageing_lots where id = ?", entry) is None


async def test_a_correction_keeps_code_day_and_receipt(own_db: Path, own_house: Any, post: Post) -> None:
    """Corrected with its own code and weight: neither is taken for a second lot of the same delivery."""
    key, _ = new_receipt(own_db, "2026-11-18")
    said = {"receipt__tap": f"receipt {key}", "weight": "11900 g", "on": "2026-11-19"}
    first = await post("/log/hang", **said, lot="B-0172", weight__sure=said["weight"] + " kg")
    assert first.status_code == 303
    shown = await own_house.client.get(first.headers["location"])
    link = re.search(r'href="([^"]*)">Correct it', shown.text)
    assert link
    path = link[1].replace("&amp;", "&")
    typed = {name: text for name, text in parse_qsl(path.partition("?")[2]) if name != "voids"}
    weight = typed["weight"]
    answer = await post(path, **typed, place="Ageing room, hook 7", weight__sure=f"{weight} kg")
    assert answer.status_code == 303, words(answer)
    question = "select lot_code, delivery_id, started_on, place from ageing_lots where voids is not null"
    assert one(own_db, question) == ("B-0172", key, "2026-11-19", "Ageing room, hook 7")
    assert "With what hangs of that delivery already" in words(await post("/log/hang", **said))


def test_two_at_once_can_not_have_one_code(own_db: Path) -> None:
    """Held again inside the transaction: the second is told that somebody was quicker."""
    form, ann = FORMS["hang"], Writer("ann", "cook")
    _, row = taken(own_db, of=RIB, weight="9.35 kg", lot="B-0172")
    with sqlite3.connect(own_db) as connection:
        put(connection, form, [("ageing_lots", dict(row))], "log-first-one", ann)
        with pytest.raises(Gone):
            put(connection, form, [("ageing_lots", {**row, "lot_code": "b-0172"})], "log-second-one", ann)


async def test_a_trace_goes_from_the_receipt_through_the_lot(own_db: Path, own_house: Any, post: Post) -> None:
    """Forward from the delivery's code the lot is written down; and what is cut of it has both behind it."""
    key, code = new_receipt(own_db)
    await post("/log/hang", receipt__tap=f"receipt {key}", weight="9.35 kg", lot="B-0172")
    steps = (await own_house.client.get(f"/trace.json?lot={code}")).json()["steps"]
    assert [(s["lot"], s["how"], s["why"]) for s in steps if s["lot"] == "B-0172"] == [
        ("B-0172", "written down", f"made with {code}")
    ]


async def test_the_trace_outlives_a_correction_of_the_receipt(own_db: Path, own_house: Any, post: Post) -> None:
    """The entry at the door is corrected after the piece was hung: the lot still came of that delivery."""
    key, code = new_receipt(own_db)
    await post("/log/hang", receipt__tap=f"receipt {key}", weight="9.35 kg", lot="B-0172")
    shown = await own_house.client.get(f"/log/deliveries/{key}")
    link = re.search(r'href="([^"]*)">Correct it', shown.text)
    assert link
    path = link[1].replace("&amp;", "&")
    typed = {name: text for name, text in parse_qsl(path.partition("?")[2]) if name != "voids"}
    sure = {f"{name}-sure": typed[name] for name in typed}
    answer = await post(path, **typed | {"note": "weighed again"} | sure)
    assert answer.status_code == 303, words(answer)
    assert one(own_db, "select 1 from standing_deliveries where id = ?", key) is None
    steps = (await own_house.client.get(f"/trace.json?lot={code}")).json()["steps"]
    assert [(s["lot"], s["how"]) for s in steps if s["lot"] == "B-0172"] == [("B-0172", "written down")]


async def test_what_was_hung_survives_a_dump_and_is_never_changed(
    own_db: Path, own_house: Any, post: Post, tmp_path: Path
) -> None:
    """`dump` proves that its files make the same kitchen; the lot among them still names its delivery."""
    key, _ = new_receipt(own_db)
    answer = await post("/log/hang", receipt__tap=f"receipt {key}", weight="9.35 kg", note="fat cap thin")
    entry = int(answer.headers["location"].rsplit("/", 1)[1])
    dump(own_db, tmp_path / "files")
    again = tmp_path / "again.db"
    assert build(tmp_path / "files", again).errors == 0
    question = """
        select a.lot_code, a.actor, a.start_g, a.target_days, a.note, d.lot_code, d.received_on
        from standing_ageing_lots as a join deliveries as d on d.id = a.delivery_id where a.origin = 'web'
    """
    assert one(again, question) == one(own_db, question) is not None
    for change in ("update ageing_lots set start_g = '1' where id = ?", "delete from ageing_lots where id = ?"):
        with pytest.raises(sqlite3.DatabaseError):
            one(own_db, change, entry)
