"""Coming in and going out: tries that are counted, sessions that end, devices that are known."""

from __future__ import annotations

import secrets
import sqlite3
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from stillroom.db import accounts, passwords
from stillroom.db.accounts import digest
from stillroom.db.connect import transaction
from stillroom.db.roles import OFFICE

HOUR, DAY = 3600, 86_400
# How long a session holds [s]: a shift with a PIN, two weeks with a password, half a year on a shared tablet.
# Common practice, no source.
SHIFT, FORTNIGHT, HALF_YEAR = 16 * HOUR, 14 * DAY, 182 * DAY
DEVICE_KNOWN = 400 * DAY
# Wrong tries that cost nothing, and the longest wait [s]. A whole house may share one address.
FREE = {"name": 5, "sign": 5, "address": 40}
LONGEST = {"name": HOUR, "sign": HOUR // 4, "address": HOUR // 4}
FIRST_WAIT = 30
FORGOTTEN = DAY


@dataclass(frozen=True)
class Try:
    """One try at a name: from where, with what, on which device (the cookie of a known one, else '')."""

    name: str
    secret: str
    address: str
    device: str = ""


@dataclass(frozen=True)
class Entry:
    """Somebody is in: what the cookies shall hold, and for how long [s]."""

    session: str
    device: str
    lasts: int


@dataclass(frozen=True)
class Wait:
    """Too many wrong tries: none is looked at for so long [s]."""

    seconds: int


def lanes(connection: sqlite3.Connection, tried: Try) -> list[str]:
    """Where a wrong try counts: at the name, apart for each device that is known here, and at the address.

    Somebody elsewhere who tries a name over and over makes strangers wait, not the person on their own device.
    """
    device = digest(tried.device)[:32] if is_known(connection, tried.device) else "stranger"
    return [f"{accounts.lane_of(tried.name)}:{device}", f"address:{tried.address[:60]}"]


def reserve(connection: sqlite3.Connection, where: list[str], now: float) -> Wait | None:
    """Counts a try as wrong before it is looked at, so that many at once are no way round; or says how long to wait."""
    with transaction(connection):
        connection.execute("delete from tries where last_at < ?", (int(now) - FORGOTTEN,))
        marks = ", ".join("?" for _ in where)
        (until,) = connection.execute(f"select max(until) from tries where lane in ({marks})", where).fetchone()
        # A clock that was set back must not keep anybody out longer than the longest wait.
        if until is not None and now < until <= now + HOUR:
            return Wait(int(until - now) + 1)
        for lane in where:
            _count(connection, lane, int(now))
    return None


def _count(connection: sqlite3.Connection, lane: str, now: int) -> None:
    row = connection.execute("select failures from tries where lane = ?", (lane,)).fetchone()
    failures = (row[0] if row else 0) + 1
    connection.execute(
        "insert into tries (lane, failures, last_at, until) values (?, ?, ?, ?) on conflict (lane)"
        " do update set failures = excluded.failures, last_at = excluded.last_at, until = excluded.until",
        (lane, failures, now, now + wait_after(lane.partition(":")[0], failures)),
    )


def wait_after(kind: str, failures: int) -> int:
    """How long no further try is looked at [s]: nothing for the first few, then 30 s, doubled each time to a limit."""
    over = failures - FREE[kind]
    return 0 if over < 0 else min(FIRST_WAIT * 2 ** min(over, 20), LONGEST[kind])


def release(connection: sqlite3.Connection, where: list[str]) -> None:
    """A right try: the name's lane begins anew; the address gets this one back, and keeps what others did there."""
    own, *shared = where
    with transaction(connection):
        connection.execute("delete from tries where lane = ?", (own,))
        for lane in shared:
            connection.execute("update tries set failures = failures - 1, until = last_at where lane = ?", (lane,))


def look(connection: sqlite3.Connection, name: str) -> dict[str, Any]:
    """What is kept for a name; for one that nobody has, the same without anything."""
    row = connection.execute(
        "select id, role, pin, password, is_disabled from people where name_key = ?", (accounts.key_of(name),)
    ).fetchone()
    return dict(zip(("id", "role", "pin", "password", "is_disabled"), row or (0, "", None, None, 1), strict=True))


def kept_for(found: dict[str, Any], secret: str) -> str | None:
    """Which of a person's secrets a try is held against. A PIN never opens the office, nor a tablet."""
    if found["is_disabled"]:
        return None
    if not passwords.is_pin(secret):
        return found["password"]  # type: ignore[no-any-return]
    return None if found["role"] in OFFICE | {"station"} else found["pin"]


def sign_in(connection: sqlite3.Connection, tried: Try, now: float | None = None) -> Entry | Wait | None:
    """Lets somebody in, if name and secret are right; None where not, whichever of the two is wrong.

    It takes the time of one hash whoever is named: not on the event loop.
    """
    now = time.time() if now is None else now
    where = lanes(connection, tried)
    if (wait := reserve(connection, where, now)) is not None:
        return wait
    found = look(connection, tried.name)
    if not passwords.matches(tried.secret, kept_for(found, tried.secret)):
        return None
    release(connection, where)
    lasts = HALF_YEAR if found["role"] == "station" else SHIFT if passwords.is_pin(tried.secret) else FORTNIGHT
    return _enter(connection, found["id"], tried.device, int(now), lasts)


def _enter(connection: sqlite3.Connection, person: int, device: str, now: int, lasts: int) -> Entry | None:
    session = secrets.token_urlsafe(32)
    with transaction(connection):
        if not is_known(connection, device, now):
            device = secrets.token_urlsafe(32)
        connection.execute(
            "insert into devices (token, made_at, used_at) values (:token, :now, :now)"
            " on conflict (token) do update set used_at = :now", {"token": digest(device), "now": now},
        )  # fmt: skip
        connection.execute("delete from sessions where expires_at < ? or ended_at < ?", (now - DAY, now - DAY))
        # Disabled while the hash was made: no session.
        made = connection.execute(
            "insert into sessions (token, person_id, device, made_at, expires_at)"
            " select ?, id, ?, ?, ? from people where id = ? and is_disabled = 0",
            (digest(session), digest(device), now, now + lasts, person),
        ).rowcount
    return Entry(session, device, lasts) if made else None


def check_pin(connection: sqlite3.Connection, tried: Try, now: float | None = None) -> accounts.Person | Wait | None:
    """The person whose PIN this is, for one entry on a shared tablet; None where name or PIN is wrong.

    Args:
        tried: `device` is the tablet's session: wrong tries are counted apart for each tablet.
    """
    return _checked(connection, tried, lambda found: None if found["is_disabled"] else found["pin"], now)


def check_secret(connection: sqlite3.Connection, tried: Try, now: float | None = None) -> accounts.Person | Wait | None:
    """The person who signs in with this secret, for a change of their own; None where it is not theirs."""
    return _checked(connection, tried, lambda found: kept_for(found, tried.secret), now)


def _checked(
    connection: sqlite3.Connection, tried: Try, kept: Callable[[dict[str, Any]], str | None], now: float | None
) -> accounts.Person | Wait | None:  # fmt: skip
    where = [f"sign:{digest(tried.device)[:32]}:{accounts.lane_of(tried.name)}"]
    if (wait := reserve(connection, where, time.time() if now is None else now)) is not None:
        return wait
    found = look(connection, tried.name)
    if not passwords.matches(tried.secret, kept(found)):
        return None
    release(connection, where)
    return accounts.by_id(connection, found["id"])


def actor_of(connection: sqlite3.Connection, session: str, now: float) -> tuple[dict[str, Any], int] | None:
    """Who a session's cookie stands for, and until when; None: nobody any more."""
    row = connection.execute(
        "select p.id, p.name, p.role, s.expires_at from sessions as s join people as p on p.id = s.person_id"
        " where s.token = ? and s.ended_at is null and s.expires_at > ? and p.is_disabled = 0",
        (digest(session), int(now)),
    ).fetchone()
    return None if row is None else ({"id": row[0], "name": row[1], "role": row[2]}, row[3])


def end(connection: sqlite3.Connection, session: str) -> None:
    """Ends one session."""
    connection.execute(
        "update sessions set ended_at = ? where token = ? and ended_at is null", (int(time.time()), digest(session))
    )


def is_known(connection: sqlite3.Connection, device: str, now: float | None = None) -> bool:
    """Whether somebody signed in on this device not too long ago."""
    since = int(time.time() if now is None else now) - DEVICE_KNOWN
    found = connection.execute("select 1 from devices where token = ? and used_at > ?", (digest(device), since))
    return bool(device) and found.fetchone() is not None


def last_on(connection: sqlite3.Connection, device: str) -> dict[int, int]:
    """Number of each person who signed in on this device of late -> when they last did."""
    return dict(connection.execute(
        "select person_id, max(made_at) from sessions where device = ? group by person_id", (digest(device),)
    ))  # fmt: skip


def forget_devices(connection: sqlite3.Connection, actor: str) -> int:
    """Forgets every device and ends every session: all sign in anew, and type their names. How many devices it was."""
    now = int(time.time())
    with transaction(connection):
        count = connection.execute("delete from devices").rowcount
        connection.execute("update sessions set ended_at = ? where ended_at is null", (now,))
        connection.execute(
            "insert into account_events (at, actor, what) values (?, ?, ?)", (now, actor, f"{count} devices forgotten")
        )
    return count
