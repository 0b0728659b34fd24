"""The manager's list of people and one's own account, through the front door."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from stillroom.db import accounts, passwords


@pytest.fixture
async def as_role(staffed: Any) -> AsyncIterator[Any]:
    """Sends a form or asks for a page as a role, with the form's token."""
    client = httpx.AsyncClient(transport=httpx.ASGITransport(app=staffed.house.app()), base_url="http://127.0.0.1")

    async def ask(role: str, path: str, /, **form: str) -> httpx.Response:
        client.cookies.clear()
        cookies = "; ".join(f"{k}={v}" for k, v in staffed.cookies[role].items())
        if not form:
            return await client.get(path, headers={"cookie": cookies})
        page = await client.get("/account", headers={"cookie": cookies})
        token = page.cookies["ds_csrftoken"]
        client.cookies.clear()
        head = {"cookie": f"{cookies}; ds_csrftoken={token}"}
        return await client.post(path, data=form | {"csrftoken": token}, headers=head)

    yield ask
    await client.aclose()


def _everybody(staffed: Any) -> dict[str, accounts.Person]:
    with accounts.opened(accounts.beside(staffed.path)) as connection:
        return {p.name: p for p in accounts.people(connection)}


async def test_the_manager_adds_resets_disables_and_forgets(staffed: Any, as_role: Any) -> None:
    """Each does what it says, is told, and is written down with the manager's name."""
    page = await as_role("manager", "/people", do="add", name="Bea", role="cook", pin="7264", password="")
    assert "Bea may come in" in page.text and _everybody(staffed)["Bea"].has_pin
    number = str(_everybody(staffed)["Bea"].id)
    page = await as_role("manager", "/people", do="reset", person=number, pin="8362", password="")
    assert "signed out everywhere" in page.text
    page = await as_role("manager", "/people", do="disable", person=number)
    assert "may no longer come in" in page.text and _everybody(staffed)["Bea"].is_disabled
    page = await as_role("manager", "/people", do="enable", person=number)
    assert not _everybody(staffed)["Bea"].is_disabled
    for words in ("Bea</b>: added as cook", "new PIN", "let in again", "by Ann"):
        assert words in page.text, words
    people = (await as_role("manager", "/people.json")).json()
    assert {p["name"] for p in people["people"]} == {"Ann", "Marit", "Tomasz", "Iris", "Charcoal", "Bea"}
    assert "scrypt" not in str(people) and people["devices"] == 5
    assert "5 devices are forgotten" in (await as_role("manager", "/people", do="forget")).text
    assert (await as_role("manager", "/people")).status_code == 303, "the manager signs in anew too"


@pytest.mark.parametrize(
    "form",
    [{"do": "add", "name": "Bea", "role": "cook", "pin": "1111"},
     {"do": "add", "name": "Bea", "role": "root", "pin": "7264"},
     {"do": "add", "name": "IRIS", "role": "cook", "pin": "7264"},
     {"do": "add", "name": "Bea", "role": "chef", "pin": "7"},
     {"do": "add", "name": "\x00", "role": "cook", "pin": "7264"}, {"do": "add"}, {"do": "drop"}, {"person": "2"},
     {"do": "disable", "person": "1"}, {"do": "disable", "person": "99"}, {"do": "disable", "person": "²"},
     {"do": "reset", "person": "2"}],
)  # fmt: skip
async def test_what_can_not_be_done_is_told_and_kept(staffed: Any, as_role: Any, form: dict[str, str]) -> None:
    """Nothing changed, the reason on the page, the name still in its field."""
    before = _everybody(staffed)
    page = await as_role("manager", "/people", **form)
    assert page.status_code == 200 and 'role="alert"' in page.text and _everybody(staffed) == before
    if form.get("name") == "Bea":
        assert 'value="Bea"' in page.text and "1111" not in page.text and "7264" not in page.text


async def test_ones_own_pin_asks_for_the_old_one(staffed: Any, as_role: Any) -> None:
    """A wrong old one changes nothing; the right one ends every other session, not this."""
    page = await as_role("cook", "/account", old="0001", pin="7264", password="")
    assert "not right" in page.text
    page = await as_role("cook", "/account", old="8264", pin="1111", password="")
    assert "first that anyone tries" in page.text
    with sqlite3.connect(accounts.beside(staffed.path)) as file:
        file.execute(
            "insert into sessions (token, person_id, made_at, expires_at) select 'other', id, 1, 9e9 from people"
            " where name = 'Tomasz'"
        )
    page = await as_role("cook", "/account", old="8264", pin="7264", password="")
    assert "Your PIN is new" in page.text and (await as_role("cook", "/guest")).status_code == 200
    with sqlite3.connect(accounts.beside(staffed.path)) as file:
        assert file.execute("select ended_at is not null from sessions where token = 'other'").fetchone() == (1,)
        kept = file.execute("select pin from people where name = 'Tomasz'").fetchone()[0]
    assert passwords.matches("7264", kept)


async def test_a_chefs_pin_does_not_change_the_chefs_password(staffed: Any, as_role: Any) -> None:
    """Somebody who looked over a shoulder at the tablet has the PIN; the password needs the password."""
    page = await as_role("chef", "/account", old="5193", pin="", password="a wholly new one")
    assert "not right" in page.text
    page = await as_role("chef", "/account", old="marram grass and mud", pin="7264", password="")
    assert "Your PIN is new" in page.text


async def test_wrong_old_ones_make_it_wait(staffed: Any, as_role: Any) -> None:
    """A signed-in phone left on the bar is no place to guess its owner's PIN."""
    for _ in range(5):
        await as_role("server", "/account", old="0001", pin="7264", password="")
    page = await as_role("server", "/account", old="4711", pin="7264", password="")
    assert "Wait" in page.text


async def test_signing_out_everywhere(staffed: Any, as_role: Any) -> None:
    """Every device of the one, none of the others."""
    answer = await as_role("server", "/sign-out", where="everywhere")
    assert answer.status_code == 303 and "stillroom_session=" in answer.headers["set-cookie"]
    assert (await as_role("server", "/guest")).status_code == 303
    assert (await as_role("cook", "/guest")).status_code == 200


async def test_a_household_makes_its_first_manager(house: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """On the page, at this machine; from that moment everybody signs in and the banner is gone."""
    from stillroom.loaders.commands import application

    monkeypatch.setattr(passwords, "COST", 2**4)
    path = tmp_path / "kitchen.db"
    with sqlite3.connect(house.get_database("kitchen").path) as source, sqlite3.connect(path) as copy:
        source.backup(copy)
    made = application(path)
    await made.invoke_startup()
    async with httpx.AsyncClient(transport=httpx.ASGITransport(app=made.app()), base_url="http://127.0.0.1") as client:
        page = await client.get("/people")
        assert "The first manager" in page.text and "One household" in page.text and "Sign out" not in page.text
        assert (await client.get("/account")).status_code == 404
        form = {"do": "add", "name": "Ann", "role": "manager", "password": "tide tables by the door"}
        form["csrftoken"] = re.search(r'name="csrftoken" value="([^"]+)"', page.text)[1]  # type: ignore[index]
        weak = await client.post("/people", data=form | {"password": "x"})
        assert "at least 10" in weak.text and (await client.get("/guest")).status_code == 200
        answer = await client.post("/people", data=form)
        assert (answer.status_code, answer.headers["location"]) == (303, "/sign-in")
        assert (await client.get("/guest")).status_code == 303
        assert "household" not in (await client.get("/sign-in")).text


async def test_a_broken_page_tells_nothing_of_the_fault(
    staffed: Any, as_role: Any, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:  # fmt: skip
    """Neither HTML nor JSON carries the exception's words; the server's window has them, without any value."""

    def breaks(*_: Any) -> None:
        raise ValueError("price 14.50 of Saltby Dairy")

    monkeypatch.setattr("stillroom.plugins.allergens.pages.query", breaks)
    for path in ("/guest", "/guest.json", "/dish/brill-on-the-bone-buttered-samphire.json"):
        answer = await as_role("server", path)
        assert answer.status_code == 500 and "14.50" not in answer.text and "Saltby" not in answer.text, path
        assert "ValueError" not in answer.text and "nothing was changed" in answer.text
    err = capsys.readouterr().err
    assert "price 14.50" in err and staffed.cookies["server"]["stillroom_session"] not in err
