"""Coming in: who is let in, what the cookies are, what wrong tries cost, and what ends a session."""

from __future__ import annotations

import re
import sqlite3
import time
from collections.abc import AsyncIterator
from typing import Any

import httpx
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from stillroom.db import accounts, passwords, sessions

LOCAL = "http://127.0.0.1"


class Browser:
    """A browser that keeps cookies and fills the sign-in form with its token."""

    def __init__(self, house: Any, base: str = LOCAL, address: str = "10.0.0.9") -> None:
        transport = httpx.ASGITransport(app=house.app(), raise_app_exceptions=False, client=(address, 1))
        self.client = httpx.AsyncClient(transport=transport, base_url=base)

    async def token(self) -> str:
        """The form's token, from the page."""
        page = await self.client.get("/sign-in")
        found = re.search(r'name="csrftoken" value="([^"]+)"', page.text)
        assert found is not None
        return found[1]

    async def sign_in(self, who: str, secret: str, then: str = "/", **headers: str) -> httpx.Response:
        """Sends the form as the page would."""
        form = {"csrftoken": await self.token(), "who": who, "secret": secret, "next": then}
        return await self.client.post("/sign-in", data=form, headers=headers)

    def cookie(self, name: str) -> str:
        """What a cookie holds now."""
        return next((c.value or "" for c in self.client.cookies.jar if c.name == name), "")


@pytest.fixture
async def browser(staffed: Any) -> AsyncIterator[Browser]:
    """A browser on which nobody has signed in."""
    made = Browser(staffed.house)
    yield made
    await made.client.aclose()


async def test_each_role_comes_in_and_goes_out(staffed: Any, browser: Browser) -> None:
    """The name in any case, the right secret, then the page that was asked for; after signing out, nothing."""
    for role, secret in staffed.secrets.items():
        answer = await browser.sign_in(f" {staffed.names[role].upper()} ", secret, "/guest?avoid=milk")
        assert (answer.status_code, answer.headers["location"]) == (303, "/guest?avoid=milk"), role
        page = await browser.client.get("/guest")
        assert page.status_code == 200 and f">{staffed.names[role]}</a>" in page.text and "banner" not in page.text
        session = browser.cookie("stillroom_session")
        out = await browser.client.post("/sign-out", data={"csrftoken": await browser.token()})
        assert out.status_code == 303 and browser.cookie("stillroom_session") == ""
        again = await browser.client.get("/guest", headers={"cookie": f"stillroom_session={session}"})
        assert again.status_code == 303, "the old cookie is worth nothing"


async def test_the_cookies(staffed: Any, browser: Browser) -> None:
    """Out of reach of scripts and of other sites' forms; with an end; behind TLS never sent without it."""
    answer = await browser.sign_in("Iris", "4711")
    cookies = [c for c in answer.headers.get_list("set-cookie") if c.startswith("stillroom_")]
    assert len(cookies) == 2
    for cookie in cookies:
        assert "HttpOnly" in cookie and "SameSite=lax" in cookie and "Path=/" in cookie and "Secure" not in cookie
        assert 0 < int(re.search(r"Max-Age=(\d+)", cookie)[1]) <= 400 * 86_400  # type: ignore[index]
    tls = Browser(staffed.house, "https://127.0.0.1")
    page = await tls.client.get("/sign-in")
    assert re.search(r"ds_csrftoken=[^;]+;.*HttpOnly; Secure", page.headers["set-cookie"])
    answer = await tls.sign_in("Iris", "4711", origin="https://127.0.0.1")
    cookies = [c for c in answer.headers.get_list("set-cookie") if "stillroom_" in c]
    assert len(cookies) == 2 and all(c.startswith("__Host-") and "; Secure" in c for c in cookies)
    assert (await tls.client.get("/guest")).status_code == 200
    plain = {"cookie": f"stillroom_session={tls.cookie('__Host-stillroom_session')}"}
    tls.client.cookies.clear()
    assert (await tls.client.get("/guest", headers=plain)).status_code == 303, "only the prefixed cookie counts there"
    await tls.client.aclose()


async def test_wrong_is_wrong_in_the_same_words(browser: Browser) -> None:
    """A name that nobody has, a wrong PIN, a PIN where a password is needed."""
    said = set()
    tries = (("Nobody", "4711"), ("Iris", "4712"), ("Marit", "5193"), ("Ann", "x" * 12), ("Charcoal", "4711"))
    for who, secret in tries:
        answer = await browser.sign_in(who, secret)
        assert answer.status_code == 403 and not browser.cookie("stillroom_session")
        said.add(re.sub(r'value="[^"]*"', "", answer.text))
    assert len(said) == 1


async def test_unknown_names_take_as_long(staffed: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """At the real cost of a hash, in one run, turn by turn: the median of known names over that of unknown ones."""
    monkeypatch.undo()
    assert passwords.COST == 2**14
    with accounts.opened(accounts.beside(staffed.path)) as connection:
        accounts.add(connection, "Real Cost", "cook", pin="8264", actor="test")
        took: dict[str, list[float]] = {"Real Cost": [], "Unreal Cost": []}
        for turn in range(9):
            for who in took:
                begun = time.process_time()
                tried = sessions.Try(who, "7310", f"10.0.{turn}.1")
                assert sessions.sign_in(connection, tried, now=1e9 + turn * 90_000) is None
                took[who].append(time.process_time() - begun)
    known, unknown = (sorted(times)[4] for times in took.values())
    assert 0.8 < known / unknown < 1.25, took


async def test_wrong_tries_make_it_wait_and_a_known_device_is_apart(staffed: Any, browser: Browser) -> None:
    """Five cost nothing, then none is looked at, the right one neither; unknown names alike; Iris's phone not."""
    mine = Browser(staffed.house, address="10.0.0.8")
    assert (await mine.sign_in("Iris", "4711")).status_code == 303
    for who in ("Iris", "Nobody"):
        for _ in range(5):
            assert (await browser.sign_in(who, "0001")).status_code == 403
        answer = await browser.sign_in(who, "4711")
        assert answer.status_code == 429 and 0 < int(answer.headers["retry-after"]) <= 31
        assert "Too many wrong tries" in answer.text
    assert (await mine.sign_in("Iris", "4711")).status_code == 303
    await mine.client.aclose()


def test_waits_double_to_an_hour_and_are_forgotten(staffed: Any) -> None:
    """30 s, then twice that each time; right again after it, and anew after a day."""
    with accounts.opened(accounts.beside(staffed.path)) as connection:
        tried, now = sessions.Try("Iris", "0001", "10.1.1.1"), 2e9
        assert [sessions.sign_in(connection, tried, now) for _ in range(5)] == [None] * 5
        for expected in (30, 60, 120, 240, 480, 960, 1920, 3600, 3600):
            wait = sessions.sign_in(connection, tried, now)
            assert isinstance(wait, sessions.Wait) and wait.seconds == expected + 1
            now += expected
            assert sessions.sign_in(connection, tried, now) is None
        right = sessions.Try("Iris", "4711", "10.1.1.1")
        assert isinstance(sessions.sign_in(connection, right, now + 3600), sessions.Entry)
        assert connection.execute("select count(*) from tries where lane like 'name:%'").fetchone() == (0,)


def test_an_address_waits_whatever_names_it_tries(staffed: Any) -> None:
    """Forty names cost nothing, for a house shares one address; another address is not touched."""
    with accounts.opened(accounts.beside(staffed.path)) as connection:
        found = [sessions.sign_in(connection, sessions.Try(f"n{n}", "0001", "10.2.2.2"), 2e9) for n in range(42)]
        assert found[:40] == [None] * 40 and all(isinstance(f, sessions.Wait) for f in found[40:])
        assert sessions.sign_in(connection, sessions.Try("n99", "0001", "10.2.2.3"), 2e9) is None


async def test_many_at_once_are_no_way_round(staffed: Any) -> None:
    """Fifty tries sent together: five are looked at."""
    import asyncio

    browsers = [Browser(staffed.house, address=f"10.3.0.{n}") for n in range(30)]
    answers = await asyncio.gather(*(b.sign_in("Tomasz", f"{1000 + n}") for n, b in enumerate(browsers)))
    codes = [a.status_code for a in answers]
    assert codes.count(403) == 5 and codes.count(429) + codes.count(503) == 25
    for b in browsers:
        await b.client.aclose()


def test_a_clock_set_back_keeps_nobody_out(staffed: Any) -> None:
    """A wait that was written by a clock years ahead is not kept to."""
    with accounts.opened(accounts.beside(staffed.path)) as connection:
        for _ in range(6):
            sessions.sign_in(connection, sessions.Try("Iris", "0001", "10.4.4.4"), 4e9)
        right = sessions.Try("Iris", "4711", "10.4.4.4")
        assert isinstance(sessions.sign_in(connection, right, 2e9), sessions.Entry)


async def test_a_session_that_somebody_else_chose_is_never_taken(staffed: Any, browser: Browser) -> None:
    """Fixation: whatever the cookies said before, signing in makes new ones, and ends the session that was there."""
    theirs = staffed.cookies["server"]["stillroom_session"]
    browser.client.cookies.set("stillroom_session", theirs, domain="127.0.0.1")
    browser.client.cookies.set("stillroom_device", "chosen-by-somebody", domain="127.0.0.1")
    assert (await browser.sign_in("Tomasz", "8264")).status_code == 303
    mine = [c.value for c in browser.client.cookies.jar if c.name == "stillroom_session"]
    assert any(value not in {theirs, "chosen"} for value in mine)
    with sqlite3.connect(accounts.beside(staffed.path)) as file:
        ended = "select ended_at is not null from sessions where token = ?"
        assert file.execute(ended, (accounts.digest(theirs),)).fetchone() == (1,)
        known = "select 1 from devices where token = ?"
        assert not file.execute(known, (accounts.digest("chosen-by-somebody"),)).fetchone()
    guess = {"cookie": "stillroom_session=attacker"}
    assert (await browser.client.get("/guest", headers=guess)).status_code == 303


async def test_only_a_hash_of_a_session_is_kept(staffed: Any) -> None:
    """Neither cookies nor PINs stand in the file, which its owner alone may read; the secret likewise."""
    path = accounts.beside(staffed.path)
    with sqlite3.connect(path) as file:
        whole = "\n".join(file.iterdump())
    for cookies in staffed.cookies.values():
        for value in cookies.values():
            assert value not in whole
    for secret in (*staffed.secrets.values(), "5193"):
        assert f"'{secret}'" not in whole
    for kept in (path, staffed.path.with_suffix(".secret")):
        assert kept.stat().st_mode & 0o777 == 0o600
    assert accounts.secret_of(staffed.path) == accounts.secret_of(staffed.path) == staffed.house._secret


async def test_what_ends_a_session_ends_it_at_once(staffed: Any) -> None:
    """Disabled, reset, signed out everywhere, expired, forgotten: the very next request is nobody's."""
    client = Browser(staffed.house).client

    async def status(role: str) -> int:
        cookie = f"stillroom_session={staffed.cookies[role]['stillroom_session']}"
        return (await client.get("/guest.json", headers={"cookie": cookie})).status_code

    def number(connection: sqlite3.Connection, role: str) -> int:
        return accounts.find(connection, staffed.names[role]).id

    assert [await status(role) for role in staffed.secrets] == [200] * 5
    with accounts.opened(accounts.beside(staffed.path)) as other:
        accounts.set_disabled(other, number(other, "server"), is_disabled=True, actor="test")
        assert [await status(role) for role in staffed.secrets] == [401, 200, 200, 200, 200]
        accounts.set_disabled(other, number(other, "server"), is_disabled=False, actor="test")
        assert await status("server") == 401, "let in again, the old session stays ended"
        accounts.reset(other, number(other, "cook"), pin="7395", actor="test")
        assert [await status(role) for role in staffed.secrets] == [401, 401, 200, 200, 200]
        accounts.end_sessions(other, number(other, "chef"))
        other.execute("update sessions set expires_at = 1000 where person_id = ?", (number(other, "station"),))
        assert [await status(role) for role in staffed.secrets] == [401, 401, 401, 200, 401]
        sessions.forget_devices(other, "test")
        assert [await status(role) for role in staffed.secrets] == [401] * 5
    await client.aclose()


async def test_a_session_ends_by_itself(staffed: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """A shift after the PIN, with nothing written in between; the browser's own date does not count."""
    client = Browser(staffed.house).client
    head = {"cookie": f"stillroom_session={staffed.cookies['server']['stillroom_session']}"}
    assert (await client.get("/guest.json", headers=head)).status_code == 200
    real = time.time
    monkeypatch.setattr(time, "time", lambda: real() + 15 * 3600)
    assert (await client.get("/guest.json", headers=head)).status_code == 200
    monkeypatch.setattr(time, "time", lambda: real() + 16 * 3600 + 60)
    assert (await client.get("/guest.json", headers=head)).status_code == 401
    await client.aclose()


async def test_a_disabled_account_does_not_come_in(staffed: Any, browser: Browser) -> None:
    """By its right secret, in the same words as a wrong one; the last manager can't be disabled."""
    with accounts.opened(accounts.beside(staffed.path)) as connection:
        for role in ("server", "chef", "station"):
            number = accounts.find(connection, staffed.names[role]).id
            accounts.set_disabled(connection, number, is_disabled=True, actor="t")
        with pytest.raises(accounts.Refused, match="last manager"):
            accounts.set_disabled(connection, accounts.find(connection, "Ann").id, is_disabled=True, actor="t")
    for role in ("server", "chef", "station"):
        answer = await browser.sign_in(staffed.names[role], staffed.secrets[role])
        assert answer.status_code == 403 and "do not go together" in answer.text


@pytest.mark.parametrize("change", ["", "x", "%00", "é", "'", "a" * 5000])
async def test_a_tampered_cookie_is_nobody(staffed: Any, change: str) -> None:
    """One letter more, fewer or other; and Datasette's own cookie, signed with the right secret."""
    client = Browser(staffed.house).client
    right = staffed.cookies["manager"]["stillroom_session"]
    for cookie in (right[:-1] + change, change + right, right.swapcase()):
        if cookie != right:
            answer = await client.get("/guest.json", headers={"cookie": f"stillroom_session={cookie}".encode()})
            assert answer.status_code == 401
    stock = staffed.house.sign({"a": {"id": "x", "name": "x", "role": "manager"}}, "actor")
    assert (await client.get("/guest.json", headers={"cookie": f"ds_actor={stock}"})).status_code == 401
    await client.aclose()


async def test_a_neighbours_strange_cookie_loses_nothing(staffed: Any) -> None:
    """Cookies that no reader understands are left out; ours still counts, and nothing breaks."""
    client = Browser(staffed.house).client
    ours = f"stillroom_session={staffed.cookies['cook']['stillroom_session']}"
    for cookie in (f"a:b=c; {ours}", f"no equals; {ours}", f'x="un;{ours}', f"[x]=1;{ours}; \x7f=1", f"{ours}; é=ü"):
        answer = await client.get("/guest.json", headers={"cookie": cookie.encode("latin-1")})
        assert answer.status_code == 200, cookie
    await client.aclose()


async def test_forms_without_their_token_go_nowhere(staffed: Any, browser: Browser) -> None:
    """No token, a wrong one, none of the cookies, another site's: 403, and nothing is let in or changed."""
    token = await browser.token()
    form = {"who": "Iris", "secret": "4711"}
    for data in (form, form | {"csrftoken": "x"}, form | {"csrftoken": token[:-2]}):
        assert (await browser.client.post("/sign-in", data=data)).status_code == 403
    for headers in ({"origin": "http://evil.example"}, {"origin": "null"}, {"sec-fetch-site": "cross-site"}):
        answer = await browser.client.post("/sign-in", data=form | {"csrftoken": token}, headers=headers)
        assert answer.status_code == 403
    bare = Browser(staffed.house)
    assert (await bare.client.post("/sign-in", data=form)).status_code == 403, "a form without any cookie"
    signed = {"cookie": "; ".join(f"{k}={v}" for k, v in staffed.cookies["manager"].items())}
    add = {"do": "add", "name": "Eve", "role": "manager", "password": "a very long one"}
    sent = {"/people": add, "/sign-out": {"where": "everywhere"}, "/account": {"pin": "7395", "old": "x"}}
    for path, data in sent.items():
        assert (await bare.client.post(path, data=data, headers=signed)).status_code == 403
    with sqlite3.connect(accounts.beside(staffed.path)) as file:
        assert file.execute("select count(*) from people").fetchone() == (5,)
        assert file.execute("select count(*) from sessions where ended_at is not null").fetchone() == (0,)
    await bare.client.aclose()


@pytest.mark.parametrize(
    "then",
    ["//evil.example", "https://evil.example", "/\\evil.example", "/guest\r\nset-cookie: a=b", "javascript:alert(1)",
     "", "/ü", "/sign-in", "\t/guest", "/guest\x00", "/" + "a" * 5000, "evil.example", "/%0d%0aset-cookie:a=b"],
)  # fmt: skip
async def test_the_way_on_stays_in_the_house(browser: Browser, then: str) -> None:
    """Nothing in `next` leads elsewhere or writes a header."""
    answer = await browser.sign_in("Iris", "4711", then)
    assert answer.status_code == 303
    assert answer.headers["location"] in {"/", "/%0d%0aset-cookie:a=b"} and "a" not in answer.cookies
    page = await browser.client.get("/sign-in", params={"next": then})
    assert "evil" not in page.text and page.status_code == 200


AWAY = ["//evil.example/", "//evil.example/%2e%2e/", "/\\evil.example/", "///", "/%5Cevil.example/"]


@pytest.mark.parametrize("path", AWAY)
async def test_no_address_is_sent_on_to_another_site(browser: Browser, path: str) -> None:
    """A slash at the end is taken off by a redirect, which must not begin with two."""
    answer = await browser.client.get(httpx.URL(LOCAL, raw_path=path.encode()))
    to = answer.headers.get("location", "/")
    assert answer.status_code in {303, 404} and not to.startswith(("//", "/\\", "http"))


async def test_a_device_is_known_after_the_first_time(staffed: Any, browser: Browser) -> None:
    """Strangers see no names; afterwards the names stand there to tap, whoever was here last first."""
    page = await browser.client.get("/sign-in")
    assert not any(name in page.text for name in staffed.names.values())
    assert (await browser.client.get("/sign-in?who=Iris")).text.count("Iris") == 1, "what was typed, and no more"
    await browser.sign_in("Tomasz", "8264")
    text = (await browser.client.get("/sign-in")).text
    assert next(re.finditer(r"<b>(\w+)</b> <span", text))[1] == "Tomasz" and "Marit" in text
    pin = (await browser.client.get("/sign-in?who=Tomasz")).text
    assert 'inputmode="numeric"' in pin and "data-keys" in pin
    assert "numeric" not in (await browser.client.get("/sign-in?who=Marit")).text


NASTY = st.one_of(
    st.text(max_size=60), st.text(alphabet="\x00\u202e\u200f\ufeff\ud7ff🦪é\r\n'\"<>%&=;", max_size=30),
    st.sampled_from(["\x00", "\u202eann", "🦪" * 300, "a" * 1_000_000, "Ann' or 1=1 --", "{{7*7}}", "4711\n", "٤٧١١"]),
)  # fmt: skip


async def test_nothing_typed_at_the_door_breaks_it(staffed: Any) -> None:
    """Two hundred made-up forms: an answer each time, never a fault, and nobody is let in."""
    import asyncio

    loop = asyncio.get_running_loop()
    browser = Browser(staffed.house)
    token = await browser.token()
    cookie = {"cookie": f"ds_csrftoken={token}"}
    kinds = ["application/x-www-form-urlencoded", "multipart/form-data; boundary=x", "multipart/form-data",
             "text/plain", "", "application/json"]  # fmt: skip
    seen: list[int] = []

    @settings(max_examples=200, deadline=None, database=None, suppress_health_check=list(HealthCheck))
    @given(who=NASTY, secret=NASTY, then=NASTY, kind=st.sampled_from(kinds), raw=st.binary(max_size=50))
    def fill(who: str, secret: str, then: str, kind: str, raw: bytes) -> None:
        async def send() -> list[int]:
            form = {"csrftoken": token, "who": who, "secret": secret, "next": then}
            one = await browser.client.post("/sign-in", data=form, headers=cookie)
            two = await browser.client.post("/sign-in", content=raw, headers=cookie | {"content-type": kind})
            return [one.status_code, two.status_code]

        seen.extend(asyncio.run_coroutine_threadsafe(send(), loop).result(60))

    await asyncio.to_thread(fill)
    assert len(seen) >= 400 and set(seen) <= {303, 400, 403, 411, 413, 415, 429, 503}, set(seen)
    with sqlite3.connect(accounts.beside(staffed.path)) as file:
        assert file.execute("select count(*) from sessions").fetchone() == (5,)
    await browser.client.aclose()


async def test_without_the_accounts_file_nobody_comes_in(staffed: Any) -> None:
    """Lost or damaged while it serves: the house does not turn into a household."""
    client = Browser(staffed.house).client
    head = {"cookie": f"stillroom_session={staffed.cookies['manager']['stillroom_session']}"}
    assert (await client.get("/cost.json", headers=head)).status_code == 200
    path = accounts.beside(staffed.path)
    kept = path.read_bytes()
    for end in ("-wal", "-shm", ""):
        path.with_name(path.name + end).unlink(missing_ok=True)
    assert (await client.get("/cost.json", headers=head)).status_code == 401
    path.write_bytes(b"not a database at all" * 500)
    assert (await client.get("/cost.json", headers=head)).status_code == 401
    assert (await client.get("/sign-in", headers=head)).status_code < 500
    path.unlink()
    path.write_bytes(kept)
    await client.aclose()
