"""Trials through the front door: saved, refused, told; money and buttons only for those who may."""

from __future__ import annotations

import asyncio
import re
from typing import Any

import pytest

VENISON = "/trials/venison-haunch-damson"


def lines_in(text: str) -> dict[str, str]:
    """Lines of a draft's form, as they stand in it."""
    from html import unescape

    found = re.findall(r'name="(line\d+)" value="([^"]*)"', text)
    return {name: unescape(value) for name, value in found if value}


async def test_a_cook_sees_trials_and_tastes_but_no_money_and_no_pen(signed_in: Any) -> None:
    """The page has neither cost nor form to change or promote; the forms themselves are refused."""
    cook = signed_in("cook")
    page = await cook.get(VENISON)
    assert page.status_code == 200 and "Write down what it tasted like" in page.text
    for word in ("Cost of a plate", "margin", "Put on the menu", "/edit", "31.00", "incomplete"):
        assert word not in page.text, word
    data = (await cook.get(f"{VENISON}.json")).json()
    assert "cost" not in data["versions"][0] and "menu_price" not in data["versions"][0]
    assert "Money" not in (await cook.get(f"{VENISON}/compare")).text
    for path in (f"{VENISON}/edit", "/trials/new"):
        assert (await cook.get(path)).status_code == 403
    for path in (f"{VENISON}/promote", f"{VENISON}/edit", f"{VENISON}/take-back", "/trials/start", "/trials/new"):
        assert (await cook.post(path, page, version="3")).status_code == 403, path
    sent = await cook.post(f"{VENISON}/taste", page, version="3", score="8", words="Kale is right", decision="on")
    assert sent.status_code == 302 or sent.status_code == 303
    sql = "select actor, version, score, words, decision from tastings where origin = 'web'"
    assert cook.rows(sql) == [("Tomasz", 3, 8, "Kale is right", "")]


async def test_a_server_sees_no_trial(signed_in: Any) -> None:
    """Nor the form; the menu of a day, without prices."""
    server = signed_in("server")
    assert (await server.get("/trials")).status_code == 403 and (await server.get(VENISON)).status_code == 403
    menu = await server.get("/menu-on/2026-12-01.json")
    assert menu.status_code == 200 and "price" not in menu.json()["dishes"][0]


async def test_a_double_tap_is_one_note(chef: Any) -> None:
    """The same form sent twice is one row."""
    page = await chef.get(VENISON)
    for _ in range(2):
        await chef.post(f"{VENISON}/taste", page, version="3", score="9", words="")
    assert chef.rows("select count(*) from tastings where origin = 'web'") == [(1,)]


@pytest.mark.parametrize(
    ("fields", "words"),
    [({"score": "11"}, "from 1, the worst"), ({}, "Write what it tasted"), ({"score": "8", "version": "9"}, "no such"),
     ({"score": "8", "words": "x" * 2001}, "2,000 characters"), ({"score": "٣"}, "from 1, the worst")],
)  # fmt: skip
async def test_a_wrong_note_is_told_and_kept(chef: Any, fields: dict[str, str], words: str) -> None:
    """Nothing is written, and what was typed stands in the form."""
    page = await chef.get(VENISON)
    sent = await chef.post(f"{VENISON}/taste", page, **{"version": "3", "decision": "keep it", **fields})
    assert sent.status_code == 400 and words in sent.text and ">keep it</textarea>" in sent.text
    assert chef.rows("select count(*) from tastings where origin = 'web'") == [(0,)]


async def test_the_next_version_is_saved_whole(chef: Any) -> None:
    """A line changed, one taken out: version 4 holds exactly that, and version 3 is as it was."""
    page = await chef.get(f"{VENISON}/edit")
    lines = lines_in(page.text)
    assert lines["line1"] == "1 ea Venison haunch portion" and len(lines) == 5
    lines |= {"line2": "60 g Swede mash", "line5": "", "off3": "on", "off4": "on"}
    before = chef.rows("select * from trial_versions where trial_id = 'venison-haunch-damson' and version < 4")
    head = {"yield": "1 plate", "price": "32", "note": "less"}
    sent = await chef.post(f"{VENISON}/edit", page, act="save", **head, **lines)
    assert sent.status_code in (302, 303)
    (row,) = chef.rows("select version, based_on, actor, lines, note from trial_versions where origin = 'web'")
    assert row[:3] == (4, 3, "Marit") and row[4] == "less"
    assert row[3].splitlines() == [
        "1 ea Venison haunch portion", "60 g Swede mash", "80 g Kale with bacon | can be left off",
        "30 g Damson relish | can be left off",
    ]  # fmt: skip
    after = chef.rows("select * from trial_versions where trial_id = 'venison-haunch-damson' and version < 4")
    assert after == before
    told = (await chef.get(f"{VENISON}/compare?v=3&v=4.json")).text
    assert "changed" in told and "gone" in told


async def test_words_behind_a_name_that_bring_nothing_are_told(chef: Any) -> None:
    """A version that says walnuts behind the kale has none in it: its own page says so, before it goes on the menu."""
    page = await chef.get(f"{VENISON}/edit")
    lines = {
        "line1": "1 ea Venison haunch portion", "line2": "60 g Swede mash, soft, with its butter",
        "line3": "80 g Kale with bacon, walnuts over it", "line4": "20 g Damson relish (on Brown butter)",
    }  # fmt: skip
    sent = await chef.post(f"{VENISON}/edit", page, act="save", **{"yield": "1 plate"}, **lines)
    assert sent.status_code in (302, 303)
    told = (await chef.get(VENISON)).text
    assert "“walnuts over it” points to walnut, which no line brings" in told
    assert "“on Brown butter” points to Brown butter, which no line brings" in told
    assert told.count("which no line brings") == 2


async def test_wrong_lines_are_told_beside_their_field_and_nothing_is_lost(chef: Any) -> None:
    """Three mistakes, three words at three fields; the rest of the form stands as it was typed."""
    page = await chef.get(f"{VENISON}/edit")
    lines = {"line1": "1 ea Venison haunch portion", "line2": "9O g Swede mash", "line3": "2 cups unobtainium"}
    fields = {"yield": "1 plate", "price": "12 pounds", "method": "Hot and short <b>", "note": "ünïcode & more"}
    sent = await chef.post(f"{VENISON}/edit", page, act="save", **lines, **fields)
    assert sent.status_code == 400 and "3 things are not right yet" in sent.text
    for name in ("line2", "line3", "price"):
        told = rf'name="{name}" value="[^"]*"[^>]* aria-invalid="true" aria-describedby="w-{name}"'
        assert re.search(told, sent.text)
        assert f'id="w-{name}"' in sent.text
    assert 'value="9O g Swede mash"' in sent.text and "Hot and short &lt;b&gt;" in sent.text
    assert "ünïcode &amp; more" in sent.text
    assert chef.rows("select count(*) from trial_versions where origin = 'web'") == [(0,)]
    litre = await chef.post(f"{VENISON}/edit", page, act="check", line1="1 ea Venison haunch portion",
                            **{"yield": "1 l"})  # fmt: skip
    assert "“1 l” is no number of plates" in litre.text or "1 l&#34; is no number of plates" in litre.text
    checked = await chef.post(f"{VENISON}/edit", page, act="check", line1="1 ea Venison haunch portion",
                              **{"yield": "1 plate"})  # fmt: skip
    assert checked.status_code == 200 and "Every line was understood" in checked.text
    more = await chef.post(f"{VENISON}/edit", page, act="more", line1="1 ea Venison haunch portion")
    assert 'name="line13"' in more.text and "not right" not in more.text


async def test_the_second_of_two_is_told_and_nothing_is_overwritten(signed_in: Any, chef: Any) -> None:
    """Marit and Ann open version 3; Ann saves; Marit is shown both, saves again, and both versions stand."""
    ann = signed_in("manager")
    hers, mine = await ann.get(f"{VENISON}/edit"), await chef.get(f"{VENISON}/edit")
    base = {"act": "save", "yield": "1 plate", "price": "32", "line1": "1 ea Venison haunch portion"}
    first = await ann.post(f"{VENISON}/edit", hers, **base, line2="100 g Swede mash")
    assert first.status_code in (302, 303)
    second = await chef.post(f"{VENISON}/edit", mine, **base, line2="50 g Swede mash", note="mine")
    assert second.status_code == 409 and "Ann saved version 4 while you wrote" in second.text
    assert "100 g Swede mash" in second.text and "50 g Swede mash" in second.text and ">mine</textarea>" in second.text
    assert chef.rows("select max(version), count(*) from trial_versions where origin = 'web'") == [(4, 1)]
    third = await chef.post(f"{VENISON}/edit", second, **base, line2="50 g Swede mash", note="mine")
    assert third.status_code in (302, 303)
    sql = "select version, actor, lines from trial_versions where origin = 'web' order by version"
    assert [(v, a, x.splitlines()[1]) for v, a, x in chef.rows(sql)] == [
        (4, "Ann", "100 g Swede mash"), (5, "Marit", "50 g Swede mash"),
    ]  # fmt: skip


async def test_of_two_at_the_same_instant_one_is_told(signed_in: Any, chef: Any) -> None:
    """Both forms arrive together: one version is written, the other is told, and no number is given twice."""
    ann = signed_in("manager")
    hers, mine = await ann.get(f"{VENISON}/edit"), await chef.get(f"{VENISON}/edit")
    base = {"act": "save", "yield": "1 plate", "line1": "1 ea Venison haunch portion"}
    both = await asyncio.gather(
        ann.post(f"{VENISON}/edit", hers, **base, line2="100 g Swede mash"),
        chef.post(f"{VENISON}/edit", mine, **base, line2="50 g Swede mash"),
    )
    assert sorted(answer.status_code for answer in both) in ([302, 409], [303, 409])
    assert chef.rows("select version from trial_versions where origin = 'web'") == [(4,)]


async def test_a_double_tap_on_save_is_one_version(chef: Any) -> None:
    """The same form twice: one version, and no word of a conflict with oneself."""
    page = await chef.get(f"{VENISON}/edit")
    for _ in range(2):
        sent = await chef.post(f"{VENISON}/edit", page, act="save", **{"yield": "1 plate"}, line1="90 g Swede mash")
        assert sent.status_code in (302, 303)
    assert chef.rows("select count(*) from trial_versions where origin = 'web'") == [(1,)]


async def test_saving_a_version_as_it_stands_is_no_version(chef: Any) -> None:
    """Nothing was changed: it says so."""
    page = await chef.get(f"{VENISON}/edit")
    lines = lines_in(page.text)
    offs = {"off3": "on", "off4": "on", "off5": "on"}
    head = {"yield": "1 plate", "section": "Over charcoal", "price": "32", "target": "30 %", "station": "Charcoal"}
    method = "Hot and short. Rest as long as it cooked. Slice thin across the grain.\n"
    method += "Kale under the meat, swede beside it."
    sent = await chef.post(f"{VENISON}/edit", page, act="save", **lines, **offs, **head, method=method)
    assert sent.status_code == 409 and "as it stands" in sent.text


async def test_a_loop_made_by_an_edit_is_named(chef: Any) -> None:
    """Brown butter out of what uses it: the ring from end to end, at its line."""
    page = await chef.get("/trials")
    started = await chef.post("/trials/start", page, **{"from": "swede-mash"})
    assert started.status_code in (302, 303)
    (user,) = chef.rows(
        "select r.name from components as c join recipes as r on r.id = c.recipe_id"
        " where c.sub_recipe_id = 'swede-mash' limit 1"
    )[0]
    form = await chef.get("/trials/swede-mash/edit")
    sent = await chef.post("/trials/swede-mash/edit", form, act="save", **{"yield": "1 kg"}, line1=f"1 ea {user}")
    assert sent.status_code == 400 and "a recipe uses itself: " in sent.text
    assert user in sent.text.split("a recipe uses itself: ")[1][:200] and "Swede mash" in sent.text


async def test_a_trial_of_a_dish_begins_with_the_dish_as_it_is(chef: Any) -> None:
    """Version 1 is a copy; a second start leaves it alone."""
    page = await chef.get("/trials")
    for _ in range(2):
        await chef.post("/trials/start", page, **{"from": "brill-on-the-bone-buttered-samphire"})
    (row,) = chef.rows("select version, began_from, lines, price from trial_versions where origin = 'web'")
    assert row[:2] == (1, "brill-on-the-bone-buttered-samphire")
    assert "60 g Buttered samphire | can be left off" in row[2] and row[3] == "34"
    assert (await chef.post("/trials/start", page, **{"from": "brill-portion"})).status_code == 404  # a cut
    assert (await chef.post("/trials/start", page, **{"from": "nothing"})).status_code == 404


async def test_a_trial_begins_on_the_page_of_the_dish(signed_in: Any) -> None:
    """The chef's button there and on the card; afterwards the way to it, for who tastes; no server learns of either."""
    chef, cook, server = (signed_in(role) for role in ("chef", "cook", "server"))
    ways = ("/dish/skate-wing-brown-shrimp", "/recipe/skate-wing-brown-shrimp")
    for way in ways:
        assert "Begin a trial from it" in (await chef.get(way)).text
        assert "<h2>Trial</h2>" not in (await cook.get(way)).text, way
    page = await chef.get(ways[0])
    assert 'name="from" value="skate-wing-brown-shrimp"' in page.text
    sent = await chef.post("/trials/start", page, **{"from": "skate-wing-brown-shrimp"})
    assert sent.headers["location"] == "/trials/skate-wing-brown-shrimp/edit"
    for way in ways:
        for person in (chef, cook):
            assert 'href="/trials/skate-wing-brown-shrimp">Its trial, version 1' in (await person.get(way)).text, way
    assert "trial" not in (await server.get(ways[0])).text.lower()
    assert "<h2>Trial</h2>" not in (await chef.get("/recipe/brill-portion")).text  # a cut


async def test_a_second_dish_gets_a_trial_of_its_own(chef: Any) -> None:
    """One after the other, and each once."""
    for dish in ("swede-mash", "brill-on-the-bone-buttered-samphire", "swede-mash"):
        sent = await chef.post("/trials/start", await chef.get("/trials"), **{"from": dish})
        assert sent.headers["location"] == f"/trials/{dish}/edit"
        assert (await chef.get(f"/trials/{dish}/edit")).status_code == 200
    found = (await chef.get("/search.json?q=swede+mash")).json()["groups"]
    assert [h["address"] for g in found if g["title"] == "Trials" for h in g["hits"]] == ["/trials/swede-mash"]
    begun = chef.rows("select trial_id, version from trial_versions where origin = 'web' order by id")
    assert begun == [("swede-mash", 1), ("brill-on-the-bone-buttered-samphire", 1)]


async def test_a_trial_from_nothing(chef: Any) -> None:
    """Named, refused where the name is taken, written, and there with its allergens and cost."""
    form = await chef.get("/trials/new?name=Leeks%20on%20toast")
    body = {"act": "save", "yield": "1 plate", "line1": "100 g leeks", "line2": "20 g butter, salted", "kind": "dish"}
    taken = await chef.post("/trials/new", form, **body, name="Brown butter")
    assert taken.status_code == 400 and "there is the recipe Brown butter of that name" in taken.text
    made = await chef.post("/trials/new", form, **body, name="Leeks on toast")
    assert made.headers["location"] == "/trials/leeks-on-toast"
    again = await chef.post("/trials/new", form, **body, name="Leeks on toast")  # the same form: a double tap
    assert again.headers["location"] == "/trials/leeks-on-toast"
    found = (await chef.get("/search.json?q=leeks+on+toast")).json()["groups"]
    assert [(h["address"], h["more"]) for g in found if g["title"] == "Trials" for h in g["hits"]] == [
        ("/trials/leeks-on-toast", "version 1")
    ]
    data = (await chef.get("/trials/leeks-on-toast.json")).json()
    assert {"allergen": "milk", "presence": "contains"} in data["versions"][0]["allergens"]
    assert data["versions"][0]["cost"] > 0 and data["versions"][0]["incomplete"] == []


async def test_on_a_tablet_a_note_is_signed_with_a_pin(signed_in: Any) -> None:
    """Without name and PIN nothing is written and what was typed stays; with them it is Tomasz's."""
    tablet = signed_in("station")
    page = await tablet.get(VENISON)
    note = {"version": "3", "score": "6", "words": "Kale too wet"}
    unsigned = await tablet.post(f"{VENISON}/taste", page, **note)
    assert unsigned.status_code == 400 and "Tap your name" in unsigned.text
    assert ">Kale too wet</textarea>" in unsigned.text
    wrong = await tablet.post(f"{VENISON}/taste", page, **note, who="Tomasz", pin="0000")
    assert wrong.status_code == 400 and re.search(r'value="Tomasz" required checked', wrong.text)
    signed = await tablet.post(f"{VENISON}/taste", page, **note, who="Tomasz", pin="8264")
    assert signed.status_code in (302, 303)
    assert tablet.rows("select actor, words from tastings where origin = 'web'") == [("Tomasz", "Kale too wet")]


async def test_two_hundred_components_are_edited_compared_and_promoted(chef: Any) -> None:
    """A long recipe works from end to end."""
    form = await chef.get("/trials/new?name=Long")
    lines = {f"line{n}": f"{n} g {'leeks' if n % 2 else 'butter, salted'}" for n in range(1, 201)}
    made = await chef.post("/trials/new", form, act="save", name="Long", kind="dish", rows="200",
                           **{"yield": "1 plate"}, **lines)  # fmt: skip
    assert made.status_code in (302, 303), re.findall(r'class="bad"[^>]*>([^<]*)', made.text)
    form = await chef.get("/trials/long/edit")
    again = lines_in(form.text)
    assert len(again) == 200
    again["line200"] = "1 g butter, salted"
    await chef.post("/trials/long/edit", form, act="save", **{"yield": "1 plate"}, **again)
    told = (await chef.get("/trials/long/compare.json")).json()
    assert [(c["name"], c["differs"]) for c in told["components"]] == [("butter, salted", True), ("leeks", False)]
    page = await chef.get("/trials/long")
    await chef.post("/trials/long/promote", page, version="2", **{"from": "2026-11-25"})
    assert chef.rows("select count(*) from components where recipe_id = 'long'") == [(200,)]


async def test_what_is_not_there_is_said(chef: Any) -> None:
    """Trials, versions, days."""
    for path in ("/trials/nothing", "/trials/nothing/edit", "/trials/nothing/compare", "/menu-on/2026-13-01"):
        assert (await chef.get(path)).status_code == 404, path
    odd = await chef.get(f"{VENISON}/compare?v=1&v=99&v=x")
    assert odd.status_code == 200 and "not there" in odd.text


async def test_a_turbot_of_last_summer_is_on_the_menu_of_its_season(chef: Any) -> None:
    """Seasons: from and to dates of the files, on any day."""
    names = {d["name"] for d in (await chef.get("/menu-on/2026-07-01.json")).json()["dishes"]}
    assert "Turbot, oyster cream" in names and "Skate wing, brown shrimp" not in names
    now = (await chef.get("/menu-on.json")).json()
    assert "Turbot, oyster cream" not in {d["name"] for d in now["dishes"]} and now["on"] == "2026-11-25"


async def test_a_note_on_a_form_that_another_sent_is_told_and_kept(signed_in: Any) -> None:
    """The page left open at the tablet: Marit's note is not taken for Tomasz's, and goes with the form she gets."""
    tablet = signed_in("station")
    page = await tablet.get(VENISON)
    first = await tablet.post(f"{VENISON}/taste", page, version="3", score="8", who="Tomasz", pin="8264")
    second = await tablet.post(f"{VENISON}/taste", page, version="3", words="Too sweet", who="Marit", pin="5193")
    assert first.status_code == 303 and second.status_code == 400
    assert "Tomasz wrote on this form before you" in second.text and "Too sweet</textarea>" in second.text
    again = await tablet.post(f"{VENISON}/taste", second, version="3", words="Too sweet", who="Marit", pin="5193")
    notes = "select actor, score, words from tastings where origin = 'web' order by id"
    assert again.status_code == 303 and tablet.rows(notes) == [("Tomasz", 8, ""), ("Marit", None, "Too sweet")]
