"""Two thousand forms of each kind through the front door: an answer each time, and never a row of what can't be."""

from __future__ import annotations

import asyncio
import json
import re
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from stillroom.plugins.logbook.fields import Field
from stillroom.plugins.logbook.forms import FORMS
from stillroom.plugins.logbook.reading import sure_of

POSTS, AT_ONCE = 2_000, 40
MEGABYTE = "x" * 1_000_000
# What is typed into a field of each kind, and may not come to a row of any log.
MARKED = ("a\x00b", "\u202e21 kg", "\u2066x\u2069", "\x1b[2J")
NEVER = {
    "temperature": ("1450 °F", "-400 C", "NaN", "inf", "1e999", "🌡", "1/0", *MARKED),
    "quantity": ("-5 kg", "1/0", "NaN", "9999999999999999 kg", "5 furlongs", "🍋", "1e999", *MARKED),
    "date": ("2026-02-31", "2026-13-01", "9999-12-31", "0001-01-01", "31/02/2026", "tomorrow", "🗓", *MARKED),
    "moment": ("25:61", "2026-02-31 10:00", "9999-12-31 10:00", "soon", *MARKED),
    "whole": ("-5", "2.5", "1e999", "NaN", "9" * 50, "three", *MARKED),
    "percent": ("140 %", "-1", "NaN", "🍋", *MARKED),
    "money": ("-3", "1e999", "NaN", "free", *MARKED),
    "pick": ("no such thing", "'; drop table counts; --", "<script>", "🍋", "٣", *MARKED),
    "choice": ("neither", *MARKED),
    "text": ("x" * 501, *MARKED),
    "product": ("x" * 501, *MARKED),
    "lots": ("x" * 501, *MARKED),
}  # fmt: skip
NEVER |= {"today": NEVER["date"], "before": NEVER["moment"]}
# What can be, or is asked about: any of it may come to a row.
ODD = (
    "", " ", "½", "2½ kg", "٣", "0", "-0", "0 kg", "412 lb", "38", "38 C", "17:40", "2026-11-25", "2026-11-20",
    "é" * 200, "=1+1", "🍋", "\ufffd", "yes", "used", "hot", "butter, salted", "Brown butter", "x" * 130, "عربى",
    "a\tb\nc", "1;2;3",
)  # fmt: skip
# A form that would be written down as it is, for the odd ones to be put into.
GOOD = {
    "probe": {"core": "60 °C", "of": "Mutton loin chop", "step": "rest"},
    "cooling": {"temp": "60 °C", "of": "Mutton stock"},
    "hold": {"place": "Fish drawer", "held": "cold", "temp": "3 °C"},
    "delivery": {"supplier": "Saltby Dairy", "product": "Farm butter, lightly salted", "received": "2 kg"},
    "count": {"of": "butter, salted", "quantity": "2 kg"},
    "batch": {"of": "Horseradish cream", "quantity": "500 g"},
    "use": {"of": "butter, salted", "quantity": "200 g", "what": "used"},
    "short": {"of": "butter, salted", "state": "short"},
    "plates": {"of": "Brill on the bone, buttered samphire", "plates": "7"},
    "hang": {"of": "beef rib, bone in", "weight": "9.5 kg"},
    "weigh": {"of": "B-0170", "weight": "9.3 kg"},
    "breakdown": {"of": "Beef rib steak", "input": "9 kg", "of1": "Beef rib steak", "weight1": "9 kg"},
    "freeze": {"of": "batch 1", "what": "frozen"},
    "tag": {"of": "tag 1", "served": "2026-11-24"},
    "tasting": {"of": "Brown butter", "words": "nuts"},
}  # fmt: skip


class Kitchen:
    """One served kitchen for all posts, on a loop of its own."""

    def __init__(self, path: Path) -> None:
        from stillroom.loaders.commands import application

        self.path, self.loop, self.number = path, asyncio.new_event_loop(), 0
        self.connection = sqlite3.connect(path)
        datasette = application(path)
        self.loop.run_until_complete(datasette.invoke_startup())
        self.app = datasette.app()
        status, headers, body = self.ask("GET", "/log/probe", b"")
        assert status == 200
        self.cookie = next(value.decode().split(";")[0] for name, value in headers if name == b"set-cookie")
        self.token = re.search(r'name="csrftoken" value="([^"]+)"', body.decode())[1]  # type: ignore[index]

    async def one(self, method: str, path: str, body: bytes, cookie: str = "") -> tuple[int, Any, bytes]:
        """One request straight through the application."""
        said: dict[str, Any] = {"status": 0, "headers": [], "body": b""}

        async def receive() -> dict[str, Any]:
            return {"type": "http.request", "body": body, "more_body": False}

        async def send(message: dict[str, Any]) -> None:
            if message["type"] == "http.response.start":
                said.update(status=message["status"], headers=message["headers"])
            else:
                said["body"] += message.get("body", b"")

        headers = [(b"host", b"localhost"), (b"content-type", b"application/x-www-form-urlencoded"),
                   (b"content-length", str(len(body)).encode()), (b"cookie", cookie.encode())]  # fmt: skip
        scope = {"type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": method, "scheme": "http",
                 "path": path, "raw_path": path.encode(), "query_string": b"", "headers": headers, "root_path": "",
                 "client": ("127.0.0.1", 1), "server": ("localhost", 80)}  # fmt: skip
        await self.app(scope, receive, send)
        return said["status"], said["headers"], said["body"]

    def ask(self, method: str, path: str, body: bytes) -> tuple[int, Any, bytes]:
        return self.loop.run_until_complete(self.one(method, path, body))

    def post(self, slug: str, forms: list[dict[str, str]]) -> list[tuple[int, dict[str, Any]]]:
        """Forms sent at once, each under a request of its own: status and answer of each."""

        async def all_of_them() -> list[Any]:
            return await asyncio.gather(*(self.one("POST", f"/log/{slug}.json", body, self.cookie) for body in bodies))

        bodies = []
        for typed in forms:
            self.number += 1
            sent = {"request": f"post-{self.number:08}", "csrftoken": self.token, **typed}
            bodies.append(urlencode(sent).encode())
        answers = self.loop.run_until_complete(all_of_them())
        return [(status, json.loads(body) if body[:1] == b"{" else {}) for status, _, body in answers]

    def rows(self, table: str) -> int:
        return int(self.connection.execute(f"select count(*) from {table} where origin = 'web'").fetchone()[0])

    def forget(self, table: str) -> None:
        """Takes out what was written, guards aside: each batch of posts finds the kitchen as the first did."""
        for log in {table, "breakdown_outputs"}:
            self.connection.execute(f"drop trigger if exists {log}_stay")
            self.connection.execute(f"delete from {log} where origin = 'web'")
        self.connection.commit()


@pytest.fixture(scope="module")
def served(demo_db: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Kitchen]:
    path = tmp_path_factory.mktemp("posts") / "kitchen.db"
    with sqlite3.connect(demo_db) as source, sqlite3.connect(path) as copy:
        source.backup(copy)
        copy.execute("delete from batches where made_on < '2026-11-22'")  # three days of them: two forms read them all
    copy.execute("pragma journal_mode=wal")
    copy.close()
    source.close()
    kitchen = Kitchen(path)
    yield kitchen
    kitchen.connection.close()
    kitchen.loop.close()


def good(kitchen: Kitchen, slug: str) -> dict[str, str]:
    """A form that can be written down, with a batch and a tag that there are."""
    typed = dict(GOOD[slug])
    if slug == "freeze":
        (number,) = kitchen.connection.execute(
            "select max(batch_id) from batch_date where frozen_on is null and made_on = '2026-11-25'"
        ).fetchone()
        typed["of"] = f"batch {number}"
    if slug == "tag":
        (lot,) = kitchen.connection.execute(
            "select lot_code from deliveries as d where certificate <> '' and lot_code <> ''"
            " and harvested_on is not null and received_on >= '2026-10-01' and received <> '0' and not exists"
            " (select 1 from shellfish_tags as t where t.lot_code = d.lot_code) order by received_on desc limit 1"
        ).fetchone()
        typed["of"] = f"tag {lot}"
    return typed


def forms_of(slug: str) -> st.SearchStrategy[dict[str, str]]:
    """A few fields of a form with odd text in them: of any kind, never possible, letters at random, a megabyte."""
    fields = {one.name: one for one in FORMS[slug].fields}
    beside = [name for one in fields for name in (f"{one}-unit", f"{one}-tap", sure_of(one))]
    drawn = [
        st.tuples(st.sampled_from(sorted(fields)), st.sampled_from(ODD)),
        st.sampled_from([(name, text) for name, one in fields.items() for text in NEVER[one.kind]]),
        st.tuples(st.sampled_from(sorted(fields)), st.text(max_size=12)),
        st.tuples(st.sampled_from([*beside, "voids", "made-at", "sent-at", "who", "from-tap-1"]), st.sampled_from(ODD)),
    ]
    return st.lists(st.one_of(drawn), max_size=4).map(dict)


def can_never_be(one: Field, text: str) -> bool:
    """Whether a field's text is one of those that no kitchen can mean."""
    return text in NEVER[one.kind]


@pytest.mark.slow
@pytest.mark.parametrize("slug", FORMS)
def test_two_thousand_posts(served: Kitchen, slug: str) -> None:
    """No answer is 500 or more; what can't be is never written; what is said to be written is there."""
    form, base = FORMS[slug], good(served, slug)
    done = {"posts": 0, "written": 0, "refused": 0}
    served.forget(form.table)

    @settings(max_examples=POSTS // AT_ONCE, deadline=None, database=None, suppress_health_check=list(HealthCheck))
    @given(st.lists(forms_of(slug), min_size=AT_ONCE, max_size=AT_ONCE))
    def run(odd: list[dict[str, str]]) -> None:
        typed, written_before = [base | one for one in odd], done["written"]
        for sent, (status, answer) in zip(typed, served.post(slug, typed), strict=True):
            assert status < 500, (status, sent)
            written = bool(answer.get("written"))
            impossible = [one.name for one in form.fields if can_never_be(one, sent.get(one.name, ""))]
            assert not (written and impossible), (impossible, sent, answer)
            done["posts"] += 1
            done["written"] += written
            done["refused"] += bool(answer.get("wrong"))
        assert served.rows(form.table) == done["written"] - written_before
        served.forget(form.table)

    run()
    assert done["posts"] >= POSTS and done["refused"] > POSTS // 10 and done["written"] > 0, done


@pytest.mark.parametrize("slug", FORMS)
def test_each_impossible_value_alone_is_refused_under_its_own_field(served: Kitchen, slug: str) -> None:
    """Everything else of the form is good: the one field that can't be is named, and nothing is written."""
    form, base = FORMS[slug], good(served, slug)
    before = served.rows(form.table)
    sent = [(one.name, text) for one in form.fields for text in NEVER[one.kind]]
    for (name, text), (status, answer) in zip(
        sent, served.post(slug, [base | {name: text} for name, text in sent]), strict=True
    ):
        assert status == 200 and name in answer["wrong"], (name, text, status, answer)
    assert served.rows(form.table) == before


@pytest.mark.parametrize("slug", FORMS)
def test_a_megabyte_in_a_field_is_answered(served: Kitchen, slug: str) -> None:
    before = served.rows(FORMS[slug].table)
    forms = [good(served, slug) | {one.name: MEGABYTE} for one in FORMS[slug].fields[:2]]
    assert all(400 <= status < 500 for status, _ in served.post(slug, forms))
    assert served.rows(FORMS[slug].table) == before
