"""A dish renamed by a version, through the front door: from the form to the guest page, and who is told when."""

from __future__ import annotations

import re
import sqlite3
from typing import Any

import pytest

DISH = "brill-on-the-bone-buttered-samphire"
OLD = "Brill on the bone, buttered samphire"
NEW = "Brill on the bone, sea herbs"
BRILL = f"/trials/{DISH}"


async def begin(chef: Any) -> None:
    """A trial of the brill, version 1 the dish as it is."""
    sent = await chef.post("/trials/start", await chef.get("/trials"), **{"from": DISH})
    assert sent.status_code in (302, 303)


async def save(chef: Any, name: str | None, line: str = "1 ea Brill portion") -> Any:
    """The next version under a name; None: a form of old that has no such field."""
    form = await chef.get(f"{BRILL}/edit")
    fields = {"yield": "1 plate", "section": "Over charcoal", "price": "34", **({} if name is None else {"name": name})}
    return await chef.post(f"{BRILL}/edit", form, act="save", line1=line, **fields)


async def promote(chef: Any, version: int, on: str = "2026-11-25") -> None:
    """A version onto the menu."""
    sent = await chef.post(f"{BRILL}/promote", await chef.get(BRILL), version=str(version), **{"from": on})
    assert sent.status_code in (302, 303), re.findall(r'class="bad"[^>]*>([^<]*)', sent.text)


async def found(person: Any, typed: str) -> dict[str, list[str]]:
    """What the search box finds, by kind."""
    groups = (await person.get(f"/search.json?q={typed}")).json()["groups"]
    return {group["title"]: [hit["name"] for hit in group["hits"]] for group in groups}


async def test_from_the_form_to_the_guest(chef: Any, signed_in: Any) -> None:
    """Guest page, dish, menu of each day, search: the new name from its day on; the address is the old one."""
    await begin(chef)
    form = (await chef.get(f"{BRILL}/edit")).text
    assert f'name="name" value="{OLD}"' in form
    assert (await save(chef, NEW)).headers["location"] == BRILL
    data = (await chef.get(f"{BRILL}.json")).json()
    assert data["name"] == NEW and [v["name"] for v in data["versions"]] == [OLD, NEW]
    told = (await chef.get(f"{BRILL}/compare.json")).json()["said"]
    assert told[0] == {"what": "Name", "words": [OLD, NEW], "differs": True}
    page = (await chef.get(BRILL)).text
    assert f"<h1>{NEW}</h1>" in page and f"called <b>{OLD}</b>" in page and f"Called <b>{OLD}</b>" in page
    assert f">{NEW}</a>" in (await chef.get("/trials")).text
    server = signed_in("server")
    assert await found(server, "herbs") == {} and (await found(chef, "herbs"))["Trials"] == [NEW]
    await promote(chef, 2)
    assert (await server.get(f"/dish/{DISH}.json")).json()["name"] == NEW
    guest = {d["id"]: d["name"] for d in (await server.get("/guest.json?avoid=celery")).json()["dishes"]}
    assert guest[DISH] == NEW and OLD not in (await server.get("/guest?avoid=celery")).text
    names = {}
    for day in ("2026-11-24", "2026-11-25"):
        dishes = (await server.get(f"/menu-on/{day}.json")).json()["dishes"]
        names[day] = {d["id"]: d["name"] for d in dishes}[DISH]
    assert names == {"2026-11-24": OLD, "2026-11-25": NEW}
    assert await found(server, "herbs") == {"Dishes": [NEW]}
    assert OLD not in (await found(server, "buttered+samphire")).get("Dishes", [])
    assert (await found(chef, "herbs"))["Dishes"] == [NEW]


async def test_a_day_to_come_says_what_the_dish_will_be_called(chef: Any, signed_in: Any) -> None:
    """On the first page, on the trial's, among the changes of the menu; a server is told the name of the day."""
    await begin(chef)
    await save(chef, NEW)
    await promote(chef, 2, "2026-12-05")
    (coming,) = (await chef.get("/today.json")).json()["menus_ahead"]["coming"]
    assert (coming["name"], coming["called"]) == (OLD, NEW)
    assert f"Will be called <b>{NEW}</b>" in (await chef.get("/")).text
    assert f", called <b>{NEW}</b>" in (await chef.get(BRILL)).text
    server = signed_in("server")
    menu = (await server.get("/menu-on/2026-11-25.json")).json()
    what = f"is made by version 2 from now on, and is called {NEW}"
    assert {"on": "2026-12-05", "dish": OLD, "what": what} in menu["changes"]
    assert (await server.get(f"/dish/{DISH}.json")).json()["name"] == OLD and await found(server, "herbs") == {}
    for day, name in (("2026-12-04", OLD), ("2026-12-05", NEW)):
        dishes = (await server.get(f"/menu-on/{day}.json")).json()["dishes"]
        assert {d["id"]: d["name"] for d in dishes}[DISH] == name


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("Skate wing, brown shrimp", "there is the recipe Skate wing, brown shrimp of that name"),
        ("brown BUTTER", "there is the recipe Brown butter of that name"),
        ("leeks", "there is the item leeks of that name"),
        ("Venison haunch, damson", "of that name"),  # a trial's, and a draft of the files
        ("", "a name has letters or numbers"), ("!!!", "a name has letters or numbers"),
        ("x" * 81, "80 characters at most"),
    ],
)  # fmt: skip
async def test_a_name_that_cannot_be_is_told_beside_the_field(chef: Any, name: str, words: str) -> None:
    """What was typed is there still, and nothing is written."""
    await begin(chef)
    sent = await save(chef, name)
    assert sent.status_code == 400
    told = re.search(r'id="w-name" role="alert">([^<]*)<', sent.text)
    assert told and words.replace("'", "&#39;") in told[1]
    field = re.search(r'<input type="text" id="f-name" name="name" value="([^"]*)"[^>]*>', sent.text)
    assert field and field[1] == name and 'aria-describedby="w-name"' in field[0]
    assert chef.rows("select count(*) from trial_versions where origin = 'web'") == [(1,)]


async def test_a_name_of_another_trial_or_of_old_is_refused(chef: Any) -> None:
    """Another trial's last name; the name that a dish had."""
    await begin(chef)
    form = await chef.get("/trials/new?name=Pike")
    body = {"act": "save", "kind": "dish", "yield": "1 plate", "line1": "100 g leeks"}
    assert (await chef.post("/trials/new", form, **body, name="Pike")).headers["location"] == "/trials/pike"
    form = await chef.get("/trials/pike/edit")
    renamed = await chef.post("/trials/pike/edit", form, **{**body, "name": "Perch, quince"})
    assert renamed.status_code in (302, 303)
    for name in ("Pike", "perch, QUINCE"):
        sent = await save(chef, name)
        assert sent.status_code == 400 and "there is a trial of that name. Give it another name." in sent.text
    await save(chef, NEW)
    await promote(chef, 2)
    form = await chef.get("/trials/pike/edit")
    taken = await chef.post("/trials/pike/edit", form, **{**body, "name": OLD, "line1": "90 g leeks"})
    assert taken.status_code == 400 and f"was, or comes to the same as, the name of the recipe {NEW}" in taken.text
    fresh = await chef.post("/trials/new", await chef.get("/trials/new"), **body, name=OLD)
    assert fresh.status_code == 400
    assert (await save(chef, OLD, "2 ea Brill portion")).status_code in (302, 303)  # its own is its own


async def test_a_name_taken_since_is_told_when_it_is_to_come_into_force(chef: Any) -> None:
    """Between the saving and the promotion another dish got it."""
    await begin(chef)
    await save(chef, "Pike, quince")
    form = await chef.get("/trials/new?name=Pike")
    body = {"act": "save", "kind": "dish", "yield": "1 plate", "line1": "100 g leeks"}
    taken = await chef.post("/trials/new", form, **body, name="Pike, quince")
    assert taken.status_code == 400 and "there is a trial of that name" in taken.text
    with sqlite3.connect(chef.path) as connection:
        connection.execute("update recipes set name = 'Pike, quince' where id = 'brown-butter'")
    sent = await chef.post(f"{BRILL}/promote", await chef.get(BRILL), version="2", **{"from": "2026-11-25"})
    assert sent.status_code == 400
    assert "Version 2 can&#39;t be the dish: there is the recipe Pike, quince of that name." in sent.text
    assert chef.rows("select count(*) from promotions where origin = 'web'") == [(0,)]


async def test_a_new_name_alone_is_a_version(chef: Any) -> None:
    """And no new name, by a form of old too, is none."""
    form = await chef.get("/trials/venison-haunch-damson/edit")
    lines = dict(re.findall(r'name="(line\d+)" value="([^"]+)"', form.text))
    head = {"yield": "1 plate", "section": "Over charcoal", "price": "32", "target": "30 %", "station": "Charcoal"}
    fields = {**lines, **head, "off3": "on", "off4": "on", "off5": "on", "act": "save",
              "method": "Hot and short. Rest as long as it cooked. Slice thin across the grain.\n"
              "Kale under the meat, swede beside it."}  # fmt: skip
    for more in ({}, {"name": "Venison haunch, damson"}):
        sent = await chef.post("/trials/venison-haunch-damson/edit", form, **fields, **more)
        assert sent.status_code == 409 and "as it stands" in sent.text
    sent = await chef.post("/trials/venison-haunch-damson/edit", form, **fields, name="Venison, sloe")
    assert sent.status_code in (302, 303)
    assert chef.rows("select version, trial, name from trial_versions where origin = 'web'") == [
        (4, "Venison haunch, damson", "Venison, sloe")
    ]


async def test_a_trial_of_a_dish_that_its_files_renamed_keeps_the_dishs_id(chef: Any) -> None:
    """The trial's own name is one that its id is made of, so that files find it again; its version says the new one."""
    with sqlite3.connect(chef.path) as connection:
        connection.execute("update recipes set name = ? where id = ?", (NEW, DISH))
    await begin(chef)
    assert chef.rows("select trial_id, trial, name from trial_versions where origin = 'web'") == [
        (DISH, "Brill on the bone buttered samphire", NEW)
    ]
    assert f"<h1>{NEW}</h1>" in (await chef.get(BRILL)).text


async def test_two_who_name_it_at_once_are_shown_both(chef: Any, signed_in: Any) -> None:
    """Nothing of either is lost."""
    await begin(chef)
    ann = signed_in("manager")
    hers, mine = await ann.get(f"{BRILL}/edit"), await chef.get(f"{BRILL}/edit")
    fields = {"act": "save", "yield": "1 plate", "line1": "1 ea Brill portion"}
    assert (await ann.post(f"{BRILL}/edit", hers, **fields, name=NEW)).status_code in (302, 303)
    told = await chef.post(f"{BRILL}/edit", mine, **fields, name="Brill, dulse")
    assert told.status_code == 409 and f"<td>{NEW}</td><td>Brill, dulse <b" in told.text
    assert 'name="name" value="Brill, dulse"' in told.text


async def test_a_till_and_the_box_understand_the_name_that_it_had(chef: Any, signed_in: Any) -> None:
    """Whoever looks for it finds the dish as it is called now, and is told; plates under the old name are its own."""
    await begin(chef)
    await save(chef, NEW)
    await promote(chef, 2)
    server = signed_in("server")
    (group,) = (await server.get("/search.json?q=buttered+samphire+brill")).json()["groups"]
    assert [(h["name"], h["more"], h["address"]) for h in group["hits"]] == [(NEW, f"earlier {OLD}", f"/dish/{DISH}")]
    assert f"earlier {OLD}" in (await server.get("/search?q=buttered+brill")).text
    (group,) = (await server.get("/search.json?q=brill+on+the+bone")).json()["groups"]
    assert [(h["name"], h["more"]) for h in group["hits"]] == [(NEW, "Over charcoal")]
    form = await chef.get("/log/sales")
    sent = {"text": f"Item,Quantity\n\"{OLD}\",3\n{NEW.upper().replace(',', ';')},1\n",
            "mapping": f"dish column = Item\nplates column = Quantity\n{NEW.upper().replace(',', ';')} = {OLD}\n"}
    looked = await chef.post("/log/sales", form, **sent, do="look")
    assert f"“{OLD}” is called <b>{NEW}</b> now." in looked.text and "4 plates" in looked.text
    await chef.post("/log/sales", form, **sent, do="write")
    written = "select recipe_id, plates from plates_sold where origin = 'web'"
    assert chef.rows(written) == [(DISH, 4)]
