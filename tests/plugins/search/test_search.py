"""One box: accents, beginnings and slips forgiven; nothing told that the role may not see; nothing typed runs."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stillroom.db.log import append
from stillroom.db.search_index import cuts, put_trial, rebuild, words_in
from stillroom.plugins.core.auth import known
from stillroom.plugins.search.compute import Hit, distance, in_order, nearest, slips, terms
from stillroom.plugins.search.pages import find

WORD = st.text(alphabet="abcdeé", max_size=9)


@pytest.fixture(scope="module")
def kitchen(demo_db: Path) -> sqlite3.Connection:
    return sqlite3.connect(f"file:{demo_db}?mode=ro", uri=True, check_same_thread=False)


def names(kitchen: sqlite3.Connection, typed: str, role: str = "manager") -> dict[str, list[str]]:
    return {group.title: [hit.name for hit in group.hits] for group in find(kitchen, typed, role).groups}


@pytest.mark.parametrize(
    ("typed", "title", "name"),
    [
        ("crème fraîche", "Items", "crème fraîche"),
        ("CREME FRA", "Items", "crème fraîche"),
        ("leks", "Items", "leeks"),
        ("laeks", "Items", "leeks"),
        ("celeriak", "Recipes", "Celeriac purée"),
        ("brwon buter", "Recipes", "Brown butter"),
        ("horseradihs cre", "Recipes", "Horseradish cream"),
        ("hrseradsh", "Recipes", "Horseradish oil"),
        ("puree", "Recipes", "Celeriac purée"),
        ("saltby", "Suppliers", "Saltby Dairy"),
        ("butter brown", "Recipes", "Brown butter"),
        ("tomasz", "People", "Tomasz"),
    ],
)
def test_what_is_meant_is_found(kitchen: sqlite3.Connection, typed: str, title: str, name: str) -> None:
    found = names(kitchen, typed)
    assert name in found.get(title, []), found


def test_the_exact_name_stands_first(kitchen: sqlite3.Connection) -> None:
    assert names(kitchen, "brown butter")["Recipes"][0] == "Brown butter"
    hits = [Hit("x", "", n, "") for n in ("Brown butters", "Butter, brown, old", "Brown butter toast", "Brown butter")]
    found = [h.name for h in in_order(hits, "brown butter")]
    assert found == ["Brown butter", "Brown butter toast", "Butter, brown, old", "Brown butters"]


def test_lots_are_found_by_how_their_code_begins(kitchen: sqlite3.Connection) -> None:
    found = find(kitchen, "1125-", "cook")
    assert found.groups[0].title == "Batches" and found.groups[0].hits[0].address.startswith("/batch/")
    (lot,) = kitchen.execute("select lot_code from deliveries where lot_code <> '' order by id desc limit 1").fetchone()
    delivered = {g.title: g for g in find(kitchen, lot.lower(), "cook").groups}["Delivered lots"]
    assert delivered.hits[0].address.startswith("/trace?lot=")
    assert not find(kitchen, lot, "server").groups


OFFICE = {"Suppliers", "Products", "People", "Drafts", "Ageing lots"}
BOARD = {"Dishes", "Recipes", "Trials", "Items", "Batches", "Delivered lots"}  # a cook tastes trials
SEES = {"server": {"Dishes", "Recipes"}, "cook": BOARD, "station": BOARD}


@pytest.mark.parametrize("role", ["anonymous", "server", "cook", "station", "", "owner"])
def test_nothing_is_told_that_the_role_may_not_see(kitchen: sqlite3.Connection, role: str) -> None:
    """Every name of every kind is typed whole, cut short and with a slip: no name and no mended word gets out."""
    secret = [n for (n,) in kitchen.execute("select name from suppliers union select name from people")]
    secret += [n for (n,) in kitchen.execute("select name from products order by id limit 60")]
    open_names = kitchen.execute("select name from items union select name from recipes").fetchall()
    open_words = {word for (name,) in open_names for word in words_in(name)}
    for name in secret:
        for typed in (name, name[:4], name[1:], name[:2] + name[3:]):
            found = find(kitchen, typed, role)
            assert not {g.title for g in found.groups} & OFFICE, (role, typed)
            assert {g.title for g in found.groups} <= SEES.get(role, set())
            assert all(word in open_words for words in found.read_as.values() for word in words)


def write_version(kitchen: sqlite3.Connection, number: int, name: str, trial: str = "eel-and-quince") -> None:
    """A version as the form writes it, and its name in the index."""
    append(kitchen, "trial_versions", {
        "request_id": f"{trial} {number}", "actor": "Marit", "origin": "web", "trial_id": trial, "trial": name,
        "version": number, "written_on": "2026-11-25", "yield_text": "1 plate", "lines": "60 g leeks",
    })  # fmt: skip
    put_trial(kitchen, trial)


@pytest.fixture
def own(kitchen: sqlite3.Connection) -> Iterator[sqlite3.Connection]:
    """A copy of the demonstration kitchen, to be written in."""
    copy = sqlite3.connect(":memory:", isolation_level=None)
    kitchen.backup(copy)
    yield copy
    copy.close()


def test_a_trial_is_found_by_who_may_open_it(own: sqlite3.Connection) -> None:
    """With its last version beside it, and its own page behind it."""
    for role in ("cook", "station", "chef", "manager"):
        (group,) = [g for g in find(own, "venison haunch", role).groups if g.title == "Trials"]
        assert [(h.address, h.more) for h in group.hits] == [("/trials/venison-haunch-damson", "version 3")]


@pytest.mark.parametrize("role", ["anonymous", "server", "", "owner"])
def test_who_may_not_open_trials_gets_no_name_from_them(own: sqlite3.Connection, role: str) -> None:
    """Typed whole, begun, with a slip, word by word: no group, no name, no mended word; before a load and after it."""
    write_version(own, 1, "Zibibbo eel, quincemeal")
    known_words = {w for (name,) in own.execute("select name from recipes") for w in words_in(name)}
    for _ in range(2):
        names_there = [n for (n,) in own.execute("select distinct trial from trial_versions")]
        assert len(names_there) == 3
        for name in names_there:
            for typed in (name, name[:4], name[1:], name[:2] + name[3:], *words_in(name)):
                found = find(own, typed, role)
                assert "Trials" not in {g.title for g in found.groups}
                assert not any(h.address.startswith("/trials") for g in found.groups for h in g.hits)
                assert {w for words in found.read_as.values() for w in words} <= known_words
        assert not find(own, "zibibo", role).groups and not find(own, "quincmeal", role).read_as
        assert find(own, "zibibo", "cook").read_as == {"zibibo": ["zibibbo"]}
        rebuild(own)


async def test_the_page_names_no_trial_to_a_server(staffed: Any) -> None:
    """Who is at the table gets the dish; who tastes gets the trial too, and may open it."""
    for role in ("server", "cook", "station"):
        answer = await staffed.house.client.get("/search?q=venison+haunch+damson", cookies=staffed.cookies[role])
        assert answer.status_code == 200 and ("/trials/" in answer.text) is (role != "server")
    opened = await staffed.house.client.get("/trials/venison-haunch-damson", cookies=staffed.cookies["cook"])
    assert opened.status_code == 200


def test_a_version_that_is_saved_is_found_at_once(own: sqlite3.Connection) -> None:
    """One entry a trial: the last version's; what was found before is found still; a load comes to the same."""
    before = {typed: find(own, typed, "manager") for typed in ("butter", "venison", "saltby", "tomasz", "brwon")}
    write_version(own, 1, "Eel and quince")
    write_version(own, 1, "Pike and damson", "pike")
    write_version(own, 2, "Eel and quince")
    for _ in range(2):
        assert names(own, "quince eel")["Trials"] == ["Eel and quince"]
        (group,) = [g for g in find(own, "qince", "chef").groups if g.title == "Trials"]
        assert [(h.name, h.more) for h in group.hits] == [("Eel and quince", "version 2")]
        assert names(own, "pike")["Trials"] == ["Pike and damson"]
        assert {typed: find(own, typed, "manager") for typed in before} == before
        own.execute("insert into search_text (search_text, rank) values ('integrity-check', 1)")
        rebuild(own)


def test_a_name_that_a_trial_no_longer_has_finds_nothing(own: sqlite3.Connection) -> None:
    """Neither it nor whatever stands in its place."""
    write_version(own, 1, "Zander and sorrel")
    write_version(own, 2, "Perch, quince")
    assert names(own, "perch")["Trials"] == ["Perch, quince"]
    assert "Trials" not in names(own, "sorrel") and "Trials" not in names(own, "zander")


def test_the_first_trial_of_a_kitchen_is_found(own: sqlite3.Connection) -> None:
    """Where there was none, and where the file was never loaded."""
    guards = "select name from sqlite_master where tbl_name = 'trial_versions' and type = 'trigger'"
    for (guard,) in own.execute(guards).fetchall():
        own.execute(f"drop trigger {guard}")
    own.execute("delete from trial_versions")
    rebuild(own)
    assert "Trials" not in names(own, "venison haunch")
    write_version(own, 1, "Eel and quince")
    assert names(own, "quince")["Trials"] == ["Eel and quince"]
    assert names(own, "tomasz", "manager")["People"] == ["Tomasz"]
    own.execute("drop table search_kind")
    write_version(own, 2, "Eel and quince")
    assert names(own, "quince")["Trials"] == ["Eel and quince"]


def test_the_index_is_no_table_that_anybody_opens(kitchen: sqlite3.Connection) -> None:
    made = {n for (n,) in kitchen.execute("select name from sqlite_master where name like 'search%'")}
    assert {"search_name", "search_text", "search_cut", "search_long"} <= made and not made & known()


@pytest.mark.parametrize("table", ["search_name", "search_text", "search_text_data", "search_cut"])
async def test_table_pages_hide_the_index(house: Any, table: str) -> None:
    assert (await house.client.get(f"/kitchen/{table}.json")).status_code in {403, 404}


@pytest.mark.parametrize(
    "typed",
    ['"', "*", 'a" OR kind : x', "NEAR(a b)", "kind:supplier", "'; drop table items", "\x00", "^", "🧅", "a" * 5000],
)
async def test_nothing_typed_is_an_operator(house: Any, typed: str) -> None:
    response = await house.client.get("/search", params={"q": typed})
    assert response.status_code == 200 and "<script>" not in response.text


async def test_the_box_stands_on_every_page_and_answers_as_data(house: Any) -> None:
    for path in ("/", "/guest", "/recipes", "/short", "/suppliers"):
        assert 'action="/search"' in (await house.client.get(path)).text
    said = (await house.client.get("/search.json?q=leks")).json()
    assert said["read_as"] == {"leks": ["leeks"]}
    assert {"kind", "address", "name", "more"} == set(said["groups"][0]["hits"][0])


async def test_every_address_found_opens(house: Any) -> None:
    for typed in ("leeks", "butter", "saltby", "1125-0", "tomasz"):
        for group in (await house.client.get("/search.json", params={"q": typed})).json()["groups"]:
            response = await house.client.get(group["hits"][0]["address"])
            assert response.status_code == 200, group["hits"][0]["address"]


def test_a_file_that_was_never_loaded_finds_nothing() -> None:
    from stillroom.db.build import create

    empty = sqlite3.connect(":memory:", isolation_level=None)
    create(empty)
    assert find(empty, "butter", "manager").groups == []


def plain_distance(a: str, b: str) -> int:
    """The textbook recursion of optimal string alignment, without any shortcut."""
    rows = [[max(i, j) if not (i and j) else 0 for j in range(len(b) + 1)] for i in range(len(a) + 1)]
    for i in range(1, len(a) + 1):
        for j in range(1, len(b) + 1):
            change = rows[i - 1][j - 1] + (a[i - 1] != b[j - 1])
            rows[i][j] = min(rows[i - 1][j] + 1, rows[i][j - 1] + 1, change)
            if i > 1 and j > 1 and a[i - 1] == b[j - 2] and a[i - 2] == b[j - 1]:
                rows[i][j] = min(rows[i][j], rows[i - 2][j - 2] + 1)
    return rows[-1][-1]


@given(WORD, WORD, st.integers(0, 2))
def test_distance_is_the_textbooks_up_to_its_limit(a: str, b: str, most: int) -> None:
    assert distance(a, b, most) == min(plain_distance(a, b), most + 1)


@given(st.text(alphabet="abcdef", min_size=4, max_size=10), st.data())
def test_a_word_one_slip_away_has_a_cut_in_common(word: str, data: Any) -> None:
    """So the table of cuts misses no word that one slip made."""
    n = data.draw(st.integers(0, len(word) - 2))
    slipped = data.draw(st.sampled_from([
        word[:n] + word[n + 1 :], word[:n] + "x" + word[n:], word[:n] + "x" + word[n + 1 :],
        word[:n] + word[n + 1] + word[n] + word[n + 2 :],
    ]))  # fmt: skip
    assert cuts(word) & cuts(slipped)


def test_short_words_and_numbers_are_not_mended() -> None:
    assert (slips("egg"), slips("1125"), slips("leek"), slips("celeriac")) == (0, 0, 1, 2)
    assert nearest("leks", ["leeks", "lemon", "leaks", "leks"]) == [["leks"], ["leaks", "leeks"]]
    assert terms("Crème — fraîche, 30 %!") == ["creme", "fraiche", "30"]
