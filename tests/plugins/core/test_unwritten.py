"""A form that could not be written: 503, why in words, nothing written, and all that was typed still there."""

from __future__ import annotations

import html
import re
import sqlite3
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from datasette import hookimpl
from datasette.plugins import pm
from datasette.utils.asgi import Response
from stillroom.db.build import create
from stillroom.db.connect import QUEUED_S, open_kitchen, transaction, write
from stillroom.db.faults import BUSY
from stillroom.db.log import append
from stillroom.loaders.commands import application
from stillroom.plugins.core import unwritten
from stillroom.plugins.core.auth import DATABASE
from stillroom.plugins.core.forms import posted
from stillroom.plugins.core.pages import page


@dataclass(frozen=True)
class Note:
    """An answer of a page for these tests."""

    title: str
    words: str


@page("core/plain.html", needs="home", methods=("GET", "POST"))
async def jot(datasette: Any, request: Any) -> Any:
    """A form that writes a count."""
    fields = await posted(request)
    row = {"request_id": fields["request_id"], "actor": "x", "origin": "web", "item_id": "butter",
           "counted_on": "2026-11-24", "unit": "g", "quantity": fields["quantity"]}  # fmt: skip
    await write(datasette.get_database(DATABASE), lambda connection: append(connection, "counts", row))
    return Response.redirect("/", status=303)


async def refill(_datasette: Any, _request: Any, fields: dict[str, str], words: str) -> Note:
    return Note(f"Count {fields['quantity']}", words)


jot_again = page("core/plain.html", needs="home", methods=("POST",), again=refill)(jot.__wrapped__)  # type: ignore[attr-defined]


class Forms:
    """A plugin with the two forms."""

    @staticmethod
    @hookimpl
    def register_routes() -> list[tuple[str, Any]]:
        return [("^/jot$", jot), ("^/jot-again$", jot_again)]


@pytest.fixture
async def kitchen(tmp_path: Path) -> Any:
    """A served kitchen with two forms; its writer has little patience."""
    connection = open_kitchen(tmp_path / "k.db")
    create(connection)
    connection.close()
    pm.register(Forms, "forms of this test")
    try:
        datasette = application(tmp_path / "k.db")
        await datasette.invoke_startup()
        await datasette.get_database("kitchen").execute_write_fn(lambda c: c.execute("pragma busy_timeout = 30"))
        yield datasette
    finally:
        pm.unregister(Forms)


SENT = {"request_id": "r<1>", "quantity": '2 "large" & <b>', "pin": "1234", "who": "Åse"}


def held(path: str) -> sqlite3.Connection:
    """Somebody else who is writing."""
    holder = sqlite3.connect(path, isolation_level=None)
    holder.execute("begin immediate")
    return holder


async def test_a_form_comes_back_filled_and_is_one_row_when_sent_again(kitchen: Any) -> None:
    """Every field but secrets, the request id among them; once the file is free the same form is written, once."""
    path = kitchen.get_database("kitchen").path
    holder = held(path)
    answer = await kitchen.client.post("/jot", data=SENT)
    assert (answer.status_code, answer.headers["retry-after"]) == (503, "3")
    found = dict(re.findall(r'<input type="hidden" name="([^"]*)" value="([^"]*)">', answer.text))
    again = {html.unescape(name): html.unescape(value) for name, value in found.items() if name != "csrftoken"}
    assert again == {"request_id": "r<1>", "quantity": '2 "large" & <b>'}
    assert "1234" not in answer.text and "& <b>" not in answer.text and 'action="/jot"' in answer.text
    holder.execute("rollback")
    for _ in range(2):
        assert (await kitchen.client.post("/jot", data={**again, "pin": "1234"})).status_code == 303
    assert holder.execute("select request_id, quantity from counts").fetchall() == [("r<1>", '2 "large" & <b>')]


async def test_a_feature_draws_its_own_form_again(kitchen: Any) -> None:
    """With `again` the page is the feature's, filled, the words on it, still 503."""
    holder = held(kitchen.get_database("kitchen").path)
    answer = await kitchen.client.post("/jot-again", data={**SENT, "quantity": "7 kg"})
    assert answer.status_code == 503 and "Count 7 kg" in answer.text and "being written by another" in answer.text
    holder.execute("rollback")


async def test_a_post_waits_while_another_writes(kitchen: Any) -> None:
    """A short load in the way is only a short wait."""
    import asyncio

    await kitchen.get_database("kitchen").execute_write_fn(lambda c: c.execute("pragma busy_timeout = 5000"))
    holder = held(kitchen.get_database("kitchen").path)
    post = asyncio.create_task(kitchen.client.post("/jot", data=SENT))
    await asyncio.sleep(0.3)
    assert not post.done()
    holder.execute("rollback")
    assert (await post).status_code == 303


async def test_time_in_the_queue_counts(kitchen: Any) -> None:
    """Six forms behind a long load are all answered after one patience, not after six."""
    import asyncio
    import time

    patience = 2 * QUEUED_S
    await kitchen.get_database("kitchen").execute_write_fn(
        lambda c: c.execute(f"pragma busy_timeout = {int(1000 * patience)}")
    )
    holder = held(kitchen.get_database("kitchen").path)
    begun = time.monotonic()
    posts = [kitchen.client.post("/jot", data={**SENT, "request_id": f"r{n}"}) for n in range(6)]
    assert {answer.status_code for answer in await asyncio.gather(*posts)} == {503}
    assert time.monotonic() - begun < 3 * patience
    holder.execute("rollback")
    (whole,) = await kitchen.get_database("kitchen").execute_write_fn(
        lambda c: c.execute("pragma busy_timeout").fetchone()
    )
    assert whole == int(1000 * patience)


def test_a_long_file_is_not_sent_back_and_forth() -> None:
    """The other fields are kept, and the page says so."""
    form = unwritten.form_of(BUSY, "/x", {"file": "x" * 300_000, "note": "kept"})
    assert form.is_cut and dict(form.fields) == {"note": "kept"}


def test_a_commit_that_fails_leaves_nothing_open(tmp_path: Path) -> None:
    """A full disk is found at the commit: the transaction is rolled back, the next writer gets the lock."""
    connection = open_kitchen(tmp_path / "k.db")
    create(connection)
    connection.execute("pragma foreign_keys = on")
    with pytest.raises(sqlite3.IntegrityError), transaction(connection):
        connection.execute("pragma defer_foreign_keys = on")
        connection.execute("insert into item_tags values ('nothing', 'x')")
    assert not connection.in_transaction
    with transaction(open_kitchen(tmp_path / "k.db")):
        pass


def test_text_is_kept_as_files_can_hold_it(tmp_path: Path) -> None:
    """No white space at its ends and no NUL, the request's id among them."""
    connection = open_kitchen(tmp_path / "k.db")
    create(connection)
    row = {"request_id": " r1\n", "actor": "x", "origin": "web", "item_id": "butter", "counted_on": "2026-11-24",
           "unit": "g", "quantity": "1", "note": "\t two\0 words \r\n"}  # fmt: skip
    assert append(connection, "counts", row) == append(connection, "counts", {**row, "request_id": "r1"})
    assert connection.execute("select request_id, note from counts").fetchall() == [("r1", "two words")]
