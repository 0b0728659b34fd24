"""Calendar feeds read back by the icalendar library, and who may read them."""

from __future__ import annotations

import re
import sqlite3
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import icalendar
import pytest
from stillroom.db import accounts, feeds
from stillroom.plugins.formats.feed import Day, calendar

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


def events(text: str | bytes) -> list[icalendar.Event]:
    """Entries of a feed."""
    return list(icalendar.Calendar.from_ical(text).walk("VEVENT"))


def test_a_feed_reads_back_as_it_was() -> None:
    """Days, words with every mark that RFC 5545 escapes, whole days, ends after beginnings, one UID each."""
    words = "Last day: Leeks, 2; \\ “Crème” \n" + "long " * 40
    days = [Day("b", date(2026, 12, 1), words, "more, and; more"), Day("a", date(2026, 11, 30), "First")]
    raw = calendar("The Staithe, Saltby", days, NOW)
    whole = icalendar.Calendar.from_ical(raw)
    assert str(whole["VERSION"]) == "2.0" and whole["PRODID"] and str(whole["X-WR-CALNAME"]) == "The Staithe, Saltby"
    first, second = events(raw)
    assert (first.decoded("DTSTART"), first.decoded("DTEND")) == (date(2026, 11, 30), date(2026, 12, 1))
    assert str(second["SUMMARY"]) == words and str(second["DESCRIPTION"]) == "more, and; more"
    assert (str(first["UID"]), first.decoded("DTSTAMP")) == ("a@stillroom", NOW)
    assert all(len(line) <= 75 for line in raw.split(b"\r\n")) and raw.endswith(b"\r\n")
    assert events(calendar("Empty", [], NOW)) == []


@pytest.fixture
def people(tmp_path: Path) -> sqlite3.Connection:
    """Ann, a manager, and Iris, a server."""
    connection = accounts.connect(tmp_path / "k.people.db")
    accounts.add(connection, "Ann", "manager", password="tide tables by the door", actor="test")
    accounts.add(connection, "Iris", "server", pin="4711", actor="test")
    return connection


def test_an_address_answers_its_person_until_it_is_taken_back(people: sqlite3.Connection) -> None:
    """Wrong secrets, other people's hands, and disabled accounts get nothing; only a hash is kept."""
    token = feeds.make(people, 2)
    assert feeds.reader(people, token) == ("Iris", "server")
    public, _, secret = token.partition("-")
    mangled = (f"{public}-{secret}x", f"{public}-{secret[:-1]}", f"x{public}-{secret}", f"{public}-" + "é" * 300)
    for wrong in ("", "-", public, f"{public}-", *mangled, "\ud800-\ud800"):
        assert feeds.reader(people, wrong) is None, wrong
    stored = str(people.execute("select * from feed_tokens").fetchall())
    assert secret not in stored
    (feed,) = feeds.feeds(people, 2)
    assert feed.read_at is not None and feeds.feeds(people, 1) == []
    assert not feeds.revoke(people, 1, feed.id) and feeds.revoke(people, 2, feed.id)
    assert not feeds.revoke(people, 2, feed.id) and feeds.reader(people, token) is None


def test_a_feed_dies_with_its_account_and_the_households_with_the_first(people: sqlite3.Connection) -> None:
    """Disabled: nothing; let in again: the same address answers. The household's is dead once there are people."""
    token, old = feeds.make(people, 2), feeds.make(people, None)
    accounts.set_disabled(people, 2, is_disabled=True, actor="test")
    assert feeds.reader(people, token) is None and feeds.reader(people, old) is None
    accounts.set_disabled(people, 2, is_disabled=False, actor="test")
    assert feeds.reader(people, token) == ("Iris", "server")


def test_nobody_needs_more_than_ten(people: sqlite3.Connection) -> None:
    """The eleventh is refused until one is taken back."""
    for _ in range(feeds.MOST):
        feeds.make(people, 1)
    with pytest.raises(feeds.TooMany):
        feeds.make(people, 1)
    feeds.revoke(people, 1, feeds.feeds(people, 1)[0].id)
    feeds.make(people, 1)


def test_the_secret_is_compared_in_constant_time() -> None:
    """The comparison is the library's, and it is made whether there is such a feed or not."""
    source = Path(feeds.__file__).read_text("utf-8")
    assert "compare_digest(_hash(secret[:200]), row[1] if row else NOBODY)" in source


def test_accounts_of_the_first_version_gain_the_table(tmp_path: Path) -> None:
    """An older file is brought up when it is opened."""
    path = tmp_path / "k.people.db"
    accounts.connect(path).close()
    with sqlite3.connect(path) as connection:
        connection.execute("drop table feed_tokens")
        connection.execute("pragma user_version = 1")
    connection.close()
    assert feeds.make(accounts.connect(path), None)


async def made(staffed: Any, role: str) -> str:
    """The path of a feed that somebody has just made on the page."""
    client, cookies = staffed.house.client, dict(staffed.cookies[role])
    page = await client.get("/calendar", cookies=cookies)
    cookies |= dict(page.cookies)
    token = re.search(r'name="csrftoken" value="([^"]*)"', page.text)
    assert token
    answer = await client.post("/calendar/make", data={"csrftoken": token[1]}, cookies=cookies)
    found = re.search(r"(/calendar/[\w-]+\.ics)</textarea>", answer.text)
    assert found, answer.text[:2000]
    return found[1]


async def test_each_role_reads_its_own_days_and_no_money(staffed: Any) -> None:
    """A server: seasons. A cook: last days of use as well. A chef: lots too. Without a cookie, by the address alone."""
    kinds = {}
    for role in ("server", "cook", "chef"):
        path = await made(staffed, role)
        answer = await staffed.house.client.get(path)
        assert answer.status_code == 200 and answer.headers["content-type"] == "text/calendar; charset=utf-8"
        assert answer.headers["cache-control"] == "no-store"
        kinds[role] = {str(e["UID"]).split("-")[0] for e in events(answer.text)}
        assert not re.search(r"£|GBP|price|cost|margin", answer.text, re.I)
    assert kinds == {"server": {"season"}, "cook": {"season", "use"}, "chef": {"season", "use", "lot"}}


async def test_what_is_not_there_is_not_told_apart(staffed: Any) -> None:
    """Unknown, mangled and taken back addresses: the same 404 without a word more."""
    path = await made(staffed, "chef")
    said = set()
    for wrong in ("/calendar/x.ics", path.replace(".ics", "x.ics"), "/calendar/000000000000-" + "a" * 32 + ".ics"):
        answer = await staffed.house.client.get(wrong)
        said.add((answer.status_code, answer.text))
    assert len(said) == 1 and next(iter(said))[0] == 404


async def test_a_tablet_has_no_calendar(staffed: Any) -> None:
    """It is nobody's."""
    assert (await staffed.house.client.get("/calendar", cookies=staffed.cookies["station"])).status_code == 403


async def test_a_feed_of_a_house_without_accounts(house: Any) -> None:
    """No file of accounts: no feed, and none is made by asking."""
    answer = await house.client.get("/calendar/abc-def.ics")
    assert answer.status_code == 404
    path = accounts.beside(Path(house.get_database("kitchen").path))
    assert not path.exists()
