"""Promotions through the front door: in force on their day, kept by a load, told, taken back."""

from __future__ import annotations

import re
import sqlite3
from pathlib import Path
from typing import Any

import pytest

VENISON = "/trials/venison-haunch-damson"
LOST = ["cereals containing gluten", "crustaceans", "milk", "skate"]  # brill stays: fish, and skate is no longer near
BRILL = "/trials/brill-on-the-bone-buttered-samphire"


async def test_a_promotion_comes_into_force_with_the_first_request_of_its_day(staffed: Any, chef: Any) -> None:
    """The server has run since the day before; nobody loads anything."""
    from stillroom.plugins.trials.due import each_day

    page = await chef.get("/trials")
    await chef.post("/trials/start", page, **{"from": "brill-on-the-bone-buttered-samphire"})
    form = await chef.get(f"{BRILL}/edit")
    await chef.post(f"{BRILL}/edit", form, act="save", **{"yield": "1 plate"}, line1="1 ea Brill portion")
    await chef.post(f"{BRILL}/promote", await chef.get(BRILL), version="2", **{"from": "2026-11-27"})
    reached: list[str] = []

    async def app(scope: dict[str, Any], receive: Any, send: Any) -> None:
        reached.append(scope["path"])

    components = "select count(*) from components where recipe_id = 'brill-on-the-bone-buttered-samphire'"
    wrapped = each_day(staffed.house, app)
    await wrapped({"type": "http", "path": "/a"}, None, None)
    assert chef.rows(components) == [(5,)]
    with sqlite3.connect(chef.path) as connection:
        connection.execute("update kitchen set value = '2026-11-27' where key = 'today'")
    await each_day(staffed.house, app)({"type": "http", "path": "/b"}, None, None)
    assert chef.rows(components) == [(1,)] and reached == ["/a", "/b"]
    told = chef.rows("select was, now from allergen_changes where dish_id = 'brill-on-the-bone-buttered-samphire'")
    assert ("contains", "not declared") in told


async def test_promoted_today_it_is_the_dish_everywhere_and_told(staffed: Any, chef: Any) -> None:
    """Components, allergens, cost and the first page follow at once; what the guest page says is the version's."""
    page = await chef.get(VENISON)
    sent = await chef.post(f"{VENISON}/promote", page, version="3", **{"from": "2026-11-25"})
    assert sent.status_code in (302, 303)
    dish = (await chef.get("/dish/venison-haunch-damson.json")).json()
    assert "80 g Kale with bacon" in [c["line"] for c in dish["components"]] and dish["on_menu"]
    guest = (await chef.get("/guest.json?avoid=celery")).json()
    assert {d["id"]: d["verdict"] for d in guest["dishes"]}["venison-haunch-damson"] in {"contains", "leave off"}
    home = (await chef.get("/today.json")).json()
    told = {(c["dish_id"], c["was"], c["now"]) for c in home["changes"]}
    assert ("venison-haunch-damson", "new dish", "contains") in told
    assert (await chef.get("/cost/venison-haunch-damson.json")).json()["menu_price"] == 32
    menu = (await chef.get("/menu-on/2026-11-25.json")).json()["dishes"]
    assert [d["version"] for d in menu if d["id"] == "venison-haunch-damson"] == [3]
    again = await chef.post(f"{VENISON}/promote", page, version="3", **{"from": "2026-11-25"})
    assert again.status_code in (302, 303) and chef.rows("select count(*) from promotions where origin='web'") == [(1,)]


async def test_a_promotion_survives_a_load(chef: Any) -> None:
    """The files still hold the draft: after a load the version is the dish all the same."""
    from stillroom.loaders.build import build

    page = await chef.get(VENISON)
    await chef.post(f"{VENISON}/promote", page, version="3", **{"from": "2026-11-25"})
    result = build(Path(__file__).parents[3] / "db" / "demo", chef.path)
    assert result.errors == 0 and result.changed_dishes == 0
    dish = (await chef.get("/dish/venison-haunch-damson.json")).json()
    assert "80 g Kale with bacon" in [c["line"] for c in dish["components"]] and dish["on_menu"]


async def test_a_day_to_come_is_said_and_can_be_taken_back(chef: Any) -> None:
    """A dish that is served stays until the day; the first page says what comes; taken back, nothing comes."""
    page = await chef.get("/trials")
    await chef.post("/trials/start", page, **{"from": "brill-on-the-bone-buttered-samphire"})
    form = await chef.get(f"{BRILL}/edit")
    saved = await chef.post(f"{BRILL}/edit", form, act="save", **{"yield": "1 plate"}, price="36",
                            line1="1 ea Brill portion", line2="150 g Boiled potatoes", section="Fish")  # fmt: skip
    assert saved.status_code in (302, 303)
    before = (await chef.get("/dish/brill-on-the-bone-buttered-samphire.json")).json()["components"]
    page = await chef.get(BRILL)
    await chef.post(f"{BRILL}/promote", page, version="2", **{"from": "2026-12-05"})
    assert (await chef.get("/dish/brill-on-the-bone-buttered-samphire.json")).json()["components"] == before
    home = (await chef.get("/today.json")).json()["menus_ahead"]
    (coming,) = home["coming"]
    assert coming["on"] == "2026-12-05" and coming["lost"] == LOST
    for day, price, section in (("2026-12-04", "34", "Over charcoal"), ("2026-12-05", "36", "Fish")):
        menu = (await chef.get(f"/menu-on/{day}.json")).json()["dishes"]
        assert [(d["price"], d["section"]) for d in menu if "brill-on" in d["id"]] == [(price, section)]
    page = await chef.get(BRILL)
    promotion = re.search(r'name="promotion" value="(\d+)"', page.text)
    assert promotion
    gone = await chef.post(f"{BRILL}/take-back", page, promotion=promotion[1])
    assert gone.status_code in (302, 303) and (await chef.get("/today.json")).json().get("menus_ahead") is None


@pytest.mark.parametrize(
    ("fields", "words"),
    [({"from": "2026-11-01"}, "today or later"), ({"from": "2026-12-31", "to": "2026-12-01"}, "before the first"),
     ({"from": "tomorrow"}, "not a date"), ({"version": "9"}, "Choose a version")],
)  # fmt: skip
async def test_a_wrong_promotion_is_told(chef: Any, fields: dict[str, str], words: str) -> None:
    """Nothing is written."""
    page = await chef.get(VENISON)
    sent = await chef.post(f"{VENISON}/promote", page, **{"version": "3", "from": "2026-12-01", **fields})
    assert sent.status_code == 400 and words in sent.text, re.findall(r'class="bad"[^>]*>([^<]*)', sent.text)
    assert chef.rows("select count(*) from promotions where origin = 'web'") == [(0,)]


async def test_a_version_that_no_longer_fits_is_told_on_the_first_page(staffed: Any, chef: Any) -> None:
    """Its day comes and an item is gone: the server goes on, the dish stays, the first page says why."""
    from stillroom.plugins.trials.due import each_day

    form = await chef.get("/trials/new?name=Oddity")
    made = await chef.post("/trials/new", form, act="save", name="Oddity", kind="dish", **{"yield": "1 plate"},
                           line1="100 g leeks")  # fmt: skip
    assert made.status_code in (302, 303)
    page = await chef.get("/trials/oddity")
    with sqlite3.connect(chef.path) as connection:
        connection.execute("update items set name = 'leeks, gone' where id = 'leeks'")
    refused = await chef.post("/trials/oddity/promote", page, version="1", **{"from": "2026-11-25"})
    assert refused.status_code == 400 and "there is no" in refused.text
    with sqlite3.connect(chef.path) as connection:
        connection.execute("insert into promotions (request_id, recorded_at, actor, origin, trial_id, trial, version,"
                           " dish_id, decided_on, from_on) values ('x', '', 'Ann', 'web', 'oddity', 'Oddity', 1,"
                           " 'oddity', '2026-11-20', '2026-11-24')")  # fmt: skip

    async def app(scope: dict[str, Any], receive: Any, send: Any) -> None:
        pass

    await each_day(staffed.house, app)({"type": "http", "path": "/"}, None, None)
    (stuck,) = (await chef.get("/today.json")).json()["menus_ahead"]["stuck"]
    assert stuck[:3] == ["oddity", "Oddity", 1] and "leeks" in stuck[3]
    assert "though its day has come" in (await chef.get("/")).text


async def test_a_version_that_no_longer_fits_keeps_no_other_dish_off_the_menu(staffed: Any, chef: Any) -> None:
    """Two come into force on one day and one of them can't: the other does; a third is promoted without a word."""
    from stillroom.plugins.trials.due import each_day

    with sqlite3.connect(chef.path) as connection:
        for trial, lines in (("aaa-oddity", "100 g moon dust"), ("zzz-oddity", "100 g leeks")):
            connection.execute(
                "insert into trial_versions (request_id, recorded_at, actor, origin, trial_id, trial, version,"
                " written_on, yield_text, lines) values (?, '', 'Ann', 'web', ?, ?, 1, '2026-11-20', '1 plate', ?)",
                (trial, trial, trial.capitalize().replace("-", " "), lines),
            )
            connection.execute(
                "insert into promotions (request_id, recorded_at, actor, origin, trial_id, trial, version, dish_id,"
                " decided_on, from_on) values (?, '', 'Ann', 'web', ?, ?, 1, ?, '2026-11-20', '2026-11-24')",
                (trial, trial, trial.capitalize().replace("-", " "), trial),
            )  # fmt: skip

    async def app(scope: dict[str, Any], receive: Any, send: Any) -> None:
        pass

    await each_day(staffed.house, app)({"type": "http", "path": "/"}, None, None)
    there = "select id from recipes where id like '%-oddity' and status = 'active'"
    assert chef.rows(there) == [("zzz-oddity",)]
    sent = await chef.post(f"{VENISON}/promote", await chef.get(VENISON), version="3", **{"from": "2026-11-25"})
    assert sent.status_code == 303 and "promot" not in sent.text
    assert chef.rows("select status, version from recipes where id = 'venison-haunch-damson'") == [("active", 3)]
    (stuck,) = (await chef.get("/today.json")).json()["menus_ahead"]["stuck"]
    assert stuck[0] == "aaa-oddity" and "moon dust" in stuck[3]


MISREAD = {"price": "7654321,98", "target_cost": "7654321 of it"}


@pytest.mark.parametrize("role", ["server", "cook", "station", "chef"])
async def test_a_price_that_can_not_be_read_is_told_to_the_office_alone(signed_in: Any, role: str) -> None:
    """A price stands in a version as it was written, and files may write it wrong: why a dish is not on the menu names
    the field to everybody, and the sum to nobody but who may see prices."""
    person = signed_in(role)
    with sqlite3.connect(person.path) as connection:
        for column, text in MISREAD.items():
            connection.execute(f"update trial_versions set {column} = ? where trial_id = ?", (text, VENISON[8:]))
        connection.execute(
            "insert into promotions (request_id, recorded_at, actor, origin, trial_id, trial, version, dish_id,"
            " decided_on, from_on) select 'x', '', 'Ann', 'web', trial_id, trial, 3, trial_id, '2026-11-20',"
            " '2026-11-24' from trial_versions where trial_id = ? and version = 3", (VENISON[8:],)
        )  # fmt: skip
    (stuck,) = (await person.get("/today.json")).json()["menus_ahead"]["stuck"]
    assert ("7654321" in stuck[3]) == (role == "chef")
    assert role == "chef" or "price can't be read" in stuck[3]
    for address in ("/", VENISON, f"{VENISON}.json", f"{VENISON}/compare", f"{VENISON}/compare.json"):
        text = (await person.get(address)).text
        assert role == "chef" or "7654321" not in text, address
    if role != "server":
        wrong = (await person.get(f"{VENISON}.json")).json()["versions"][0]["wrong"]
        assert set(wrong) == {"price", "target"} and ("7654321" in wrong["price"]) == (role == "chef")


async def test_another_kind_of_nut_is_an_allergen_change(chef: Any) -> None:
    """Walnut for hazelnut is nuts as before, and another dish for whoever avoids walnut (or pecan: the bag says so)."""
    dish = "/trials/hay-baked-celeriac-hazelnut-and-apple"
    await chef.post("/trials/start", await chef.get("/trials"), **{"from": "hay-baked-celeriac-hazelnut-and-apple"})
    form = await chef.get(f"{dish}/edit")
    lines = ["180 g Hay-baked celeriac", "60 g Celeriac purée", "15 g walnut pieces, toasted", "30 g apples, eating",
             "8 g Artichoke crisps"]  # fmt: skip
    typed = {f"line{n}": line for n, line in enumerate(lines, 1)}
    saved = await chef.post(f"{dish}/edit", form, act="save", **{"yield": "1 plate"}, price="16", **typed)
    assert saved.status_code in (302, 303)
    (turn,) = (await chef.get(f"{dish}/compare.json?v=1&v=2")).json()["allergens"]
    assert turn["gained"] == ["pecan", "walnut"] and turn["lost"] == ["hazelnut"]
    page = await chef.get(f"{dish}/compare?v=1&v=2")
    assert "Gained or stronger: pecan, walnut" in page.text and '<th scope="row">hazelnut</th>' in page.text
    await chef.post(f"{dish}/promote", await chef.get(dish), version="2", **{"from": "2026-12-05"})
    (coming,) = (await chef.get("/today.json")).json()["menus_ahead"]["coming"]
    assert (coming["gained"], coming["lost"]) == (["pecan", "walnut"], ["hazelnut"])
