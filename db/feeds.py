"""Who may read a calendar feed: a secret address for each person, kept as a hash, taken back at will."""

from __future__ import annotations

import hashlib
import secrets
import sqlite3
import time
from dataclasses import dataclass
from hmac import compare_digest

from stillroom.db.connect import transaction
from stillroom.db.roles import ROLES

MOST = 10  # feeds of one person
NOTED_S = 3600  # how exactly it is kept when a feed was read [s]
NOBODY = hashlib.sha256(b"no such feed").hexdigest()


@dataclass(frozen=True)
class Feed:
    """One address of a person. read_at: when it was last read, None = never. Seconds since 1970, UTC."""

    id: int
    made_at: int
    read_at: int | None


class TooMany(Exception):
    """A person has as many feeds as anybody needs."""


def make(connection: sqlite3.Connection, person: int | None) -> str:
    """A new address's secret part, said once and kept nowhere.

    Args:
        person: people.id; None for the household, while nobody has an account.

    Raises:
        TooMany: take one back first.
    """
    public, secret = secrets.token_hex(6), secrets.token_urlsafe(24)
    with transaction(connection):
        if len(feeds(connection, person)) >= MOST:
            raise TooMany
        connection.execute(
            "insert into feed_tokens (public, secret, person_id, made_at) values (?, ?, ?, ?)",
            (public, _hash(secret), person, int(time.time())),
        )
    return f"{public}-{secret}"


def feeds(connection: sqlite3.Connection, person: int | None) -> list[Feed]:
    """A person's feeds that still answer, the newest first."""
    rows = connection.execute(
        "select id, made_at, read_at from feed_tokens where person_id is ? and revoked_at is null order by id desc",
        (person,),
    )
    return [Feed(*row) for row in rows]


def revoke(connection: sqlite3.Connection, person: int | None, feed: int) -> bool:
    """Takes one of a person's own feeds back; whether there was one."""
    done = connection.execute(
        "update feed_tokens set revoked_at = ? where id = ? and person_id is ? and revoked_at is null",
        (int(time.time()), feed, person),
    )
    return done.rowcount == 1


def reader(connection: sqlite3.Connection, token: str) -> tuple[str, str] | None:
    """(name, role) of whoever an address belongs to; None where it answers nobody (any more).

    The secret is compared in a time that does not depend on it, whether there is such a feed or not. A feed dies with
    its person's account, and the household's with the first account.
    """
    public, _, secret = token.encode("ascii", "replace").decode("ascii").partition("-")
    row = connection.execute(
        "select f.id, f.secret, f.person_id, p.name, p.role, coalesce(p.is_disabled, 0) from feed_tokens as f"
        " left join people as p on p.id = f.person_id where f.public = ? and f.revoked_at is null", (public[:40],),
    ).fetchone()  # fmt: skip
    is_right = compare_digest(_hash(secret[:200]), row[1] if row else NOBODY)
    if row is None or not is_right:
        return None
    number, _, person, name, role, is_disabled = row
    if person is None:
        if connection.execute("select 1 from people limit 1").fetchone():
            return None
        name, role = "household", "manager"
    if is_disabled or role not in ROLES:
        return None
    now = int(time.time())
    connection.execute(
        "update feed_tokens set read_at = ? where id = ? and coalesce(read_at, 0) < ?", (now, number, now - NOTED_S)
    )
    return str(name), str(role)


def _hash(secret: str) -> str:
    return hashlib.sha256(secret.encode("utf-8", "surrogatepass")).hexdigest()
