"""What stands around every answer: policies, refusals, the version check, the first page's one form."""

from __future__ import annotations

import re
import sqlite3
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from stillroom.plugins.core import frame
from stillroom.plugins.core.startup import refuse_other_datasette

LOCAL = {b"host": b"127.0.0.1:8001"}


@pytest.mark.parametrize(
    "host", ["evil.example", "127.0.0.1.evil.example", "192.168.1.5:8001", "", "[", "localhost:x", "x@localhost"]
)
def test_another_name_for_this_machine_is_refused(host: str) -> None:
    """A page elsewhere that points its own name here must not read the answers."""
    assert frame.refusal("/guest", "GET", {b"host": host.encode()}) == (421, frame.NOT_THIS_MACHINE)


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost:8001", "LOCALHOST", "[::1]:8001"])
def test_this_machine_is_answered(host: str) -> None:
    """The loopback by each of its names."""
    assert frame.refusal("/guest", "GET", {b"host": host.encode()}) is None


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "http://127.0.0.1:9", "http://127.0.0.1"])
def test_a_form_from_another_site_is_refused(origin: str) -> None:
    """A post without cookies carries no token, so its origin is what tells."""
    assert frame.refusal("/changes/read", "POST", {**LOCAL, b"origin": origin.encode()}) == (403, frame.FOREIGN_FORM)
    assert frame.refusal("/changes/read", "POST", {**LOCAL, b"origin": b"http://127.0.0.1:8001"}) is None
    assert frame.refusal("/changes/read", "POST", LOCAL) is None


@pytest.mark.parametrize("path", ["/-/plugins", "/-/metadata", "/-/login", "/-/allow-debug", "/-/static"])
async def test_pages_about_the_server_are_not_there(house: Any, path: str) -> None:
    """404 with the headers of any answer."""
    answer = await house.client.get(path)
    assert answer.status_code == 404 and answer.text == frame.NO_PAGE
    assert answer.headers["x-frame-options"] == "DENY"


async def test_every_kind_of_answer_carries_the_headers(house: Any) -> None:
    """Own page, table, question, data, file, static, error: each once, and nowhere may a page's own words run."""
    for path in (
        "/",
        "/kitchen",
        "/kitchen/items",
        "/kitchen/moved_prices",
        "/kitchen.json",
        "/guest.json",
        "/allergens.csv",
        "/-/static-plugins/stillroom/room.js",
        "/nothing",
    ):
        answer = await house.client.get(path)
        for name, value in frame.HEADERS:
            assert answer.headers[name.decode()] == value.decode(), path
        assert answer.headers["content-security-policy"] == frame.STRICT, path
    assert "unsafe" not in frame.STRICT and "default-src 'none'" in frame.STRICT
    assert "frame-ancestors 'none'" in frame.STRICT


async def test_answers_are_never_kept(house: Any) -> None:
    """An allergen answer out of a cache would be an old one."""
    for path in (
        "/guest?avoid=milk",
        "/guest.json?avoid=milk",
        "/allergens.csv",
        "/dish/nothing",
        "/dish/nothing.json",
    ):
        assert (await house.client.get(path)).headers["cache-control"].endswith("no-store"), path


async def test_what_is_not_there_is_said_in_the_house_frame(house: Any) -> None:
    """An address that nobody registered, and a way of asking that no page has."""
    answer = await house.client.get("/nothing")
    assert answer.status_code == 404 and "There is no such page" in answer.text and 'lang="en"' in answer.text
    assert (await house.client.get("/changes/read")).status_code == 405
    assert (await house.client.put("/guest")).status_code == 405


@pytest.mark.parametrize("version", ["1.0a41", "0.64.8", "0.66", "0.650"])
def test_another_datasette_is_refused(version: str) -> None:
    """1.0 ignores the permission hook, and an anonymous visitor would read every table."""
    hooks = SimpleNamespace(permission_allowed=SimpleNamespace(spec=object()))
    with pytest.raises(RuntimeError, match=re.escape(version)):
        refuse_other_datasette(version, hooks)
    refuse_other_datasette("0.65.5", hooks)


def test_a_datasette_that_lost_the_hook_is_refused() -> None:
    """Whatever it calls itself."""
    for hooks in (SimpleNamespace(), SimpleNamespace(permission_allowed=SimpleNamespace(spec=None))):
        with pytest.raises(RuntimeError, match="permission rules"):
            refuse_other_datasette("0.65.5", hooks)


async def _empty_house(path: Path) -> Any:
    from datasette.app import Datasette
    from datasette.database import Database
    from stillroom.db.build import create
    from stillroom.db.connect import open_kitchen

    connection = open_kitchen(path)
    create(connection)
    change = {
        "request_id": "a", "recorded_at": "2026-01-01T00:00:00Z", "actor": "load", "origin": "load", "dish_id": "d",
        "dish_name": "<b>Pie</b>", "allergen_id": "milk", "was": "not declared", "now": "contains", "because": "x",
        "changed_on": "2026-01-01",
    }  # fmt: skip
    marks = ", ".join(f":{c}" for c in change)
    connection.execute(f"insert into allergen_changes ({', '.join(change)}) values ({marks})", change)
    connection.close()
    datasette = Datasette([])
    datasette.add_database(Database(datasette, path=str(path), is_mutable=True), name="kitchen")
    await datasette.invoke_startup()
    return datasette


async def test_an_empty_kitchen_is_told_what_to_do_next(tmp_path: Path) -> None:
    """No dish yet: the three commands, no list of nothing."""
    house = await _empty_house(tmp_path / "k.db")
    answer = await house.client.get("/")
    assert answer.status_code == 200 and "stillroom blank my-kitchen" in answer.text and "Came late" not in answer.text


async def test_marking_a_change_read_twice_is_one_row(tmp_path: Path) -> None:
    """A double tap leaves one row, a change that is not there none, and the list is empty after."""
    house = await _empty_house(tmp_path / "k.db")
    assert len((await house.client.get("/today.json")).json()["changes"]) == 1
    for change in ("1", "1", "01", "2", "x", "²", "-1", ""):
        answer = await house.client.post("/changes/read", data={"change": change})
        assert answer.status_code == 303 and answer.headers["location"] == "/"
    with sqlite3.connect(tmp_path / "k.db") as connection:
        assert connection.execute("select change_id, origin, actor from change_reads").fetchall() == [
            (1, "web", "household")
        ]
    assert (await house.client.get("/today.json")).json()["changes"] == []


async def test_a_busy_file_is_said_and_nothing_written(tmp_path: Path) -> None:
    """While a load holds the lock a form gets 503 and the way on, not a crash."""
    house = await _empty_house(tmp_path / "k.db")
    await house.get_database("kitchen").execute_write_fn(
        lambda connection: connection.execute("pragma busy_timeout = 20")
    )
    holder = sqlite3.connect(tmp_path / "k.db", isolation_level=None)
    holder.execute("begin immediate")
    answer = await house.client.post("/changes/read", data={"change": "1"})
    holder.execute("rollback")
    assert answer.status_code == 503 and "Nothing was written. Try again" in answer.text
    assert holder.execute("select count(*) from change_reads").fetchone() == (0,)
    assert (await house.client.post("/changes/read", data={"change": "1"})).status_code == 303
    holder.close()


async def _sent(house: Any, token: str, cookies: dict[str, str] | None, file: bytes = b"Time,F\n1,2\n") -> Any:
    parts = [(b"csrftoken", token.encode()), (b"at", b"1"), (b"temp", b"2"), (b"clock", b"minutes"), (b"unit", b"F")]
    fields = b"".join(b'--x\r\ncontent-disposition: form-data; name="%s"\r\n\r\n%s\r\n' % part for part in parts)
    last = b'--x\r\ncontent-disposition: form-data; name="file"; filename="a.csv"\r\n\r\n' + file + b"\r\n--x--\r\n"
    head = {"content-type": "multipart/form-data; boundary=x"}
    path = "/doneness/readings/import"
    return await house.client.post(path, content=fields + last, headers=head, cookies=cookies or {})


async def test_a_form_with_a_file_needs_its_token(house: Any) -> None:
    """A browser's form goes through with the token of its page, is refused with another, and never fails otherwise."""
    page = await house.client.get("/doneness/readings/import")
    token = page.cookies["ds_csrftoken"]
    good = await _sent(house, token, {"ds_csrftoken": token})
    assert good.status_code == 200 and "1 readings" in good.text
    assert (await _sent(house, "other", {"ds_csrftoken": token})).status_code == 403
    assert (await _sent(house, "old", {"ds_csrftoken": "old"})).status_code == 403  # a token of before a restart


async def test_a_file_larger_than_any_form_is_refused_at_the_door(house: Any) -> None:
    """413 in words, whatever the token."""
    answer = await _sent(house, "", None, b"x" * 10_000_001)
    assert answer.status_code == 413 and "smaller file" in answer.text
