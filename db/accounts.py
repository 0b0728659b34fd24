"""The accounts of the house: who they are, in a file of their own beside the kitchen's."""

from __future__ import annotations

import hashlib
import os
import secrets
import sqlite3
import time
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

from stillroom.db import passwords
from stillroom.db.connect import BUSY_MS, transaction
from stillroom.db.roles import OFFICE, ROLES

VERSION = 2
LONGEST_NAME = 60
_COLUMNS = "id, name, role, pin is not null, password is not null, is_disabled, made_at"


class Refused(Exception):
    """An account can't be made or changed like that; the words say why."""


@dataclass(frozen=True)
class Person:
    """Somebody with an account, or a shared tablet (role 'station')."""

    id: int
    name: str
    role: str
    has_pin: bool
    has_password: bool
    is_disabled: bool
    made_at: int


def beside(kitchen: Path) -> Path:
    """Where the accounts of a kitchen's file are kept: kitchen.db -> kitchen.people.db."""
    return kitchen.with_suffix(".people.db")


def secret_of(kitchen: Path) -> str:
    """The secret that forms are signed with, made the first time; a file of its own that only its owner reads."""
    path = kitchen.with_suffix(".secret")
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        path.chmod(0o600)
        text = path.read_text("ascii").strip()
        if len(text) < 32:
            raise Refused(f"{path} is damaged: remove it, and a new one is made") from None
        return text
    text = secrets.token_hex(32)
    with os.fdopen(handle, "w") as file:
        file.write(text + "\n")
        file.flush()
        os.fsync(file.fileno())
    return text


def exists(kitchen: Path) -> bool:
    """Whether anybody has an account in this kitchen. A file that can't be read counts: it keeps people out, not in."""
    path = beside(kitchen)
    if not path.exists():
        return False
    try:
        with opened(path) as connection:
            return bool(connection.execute("select 1 from people limit 1").fetchone())
    except (sqlite3.Error, OSError, Refused):
        return True


@contextmanager
def opened(path: Path) -> Iterator[sqlite3.Connection]:
    """A connection to the accounts, made where they are not there yet, closed at the end."""
    connection = connect(path)
    try:
        yield connection
    finally:
        connection.close()


def connect(path: Path) -> sqlite3.Connection:
    """A connection to the accounts in autocommit mode; the file is made for its owner alone.

    Raises:
        Refused: a newer stillroom made the file.
    """
    os.close(os.open(path, os.O_RDWR | os.O_CREAT, 0o600))
    connection = sqlite3.connect(path, timeout=BUSY_MS / 1000, isolation_level=None, check_same_thread=False)
    (version,) = connection.execute("pragma user_version").fetchone()
    if version > VERSION:
        connection.close()
        raise Refused(f"{path} was made by a newer stillroom")
    if version < VERSION:
        path.chmod(0o600)
        connection.execute("pragma journal_mode=WAL")
        connection.executescript(files("stillroom.db").joinpath("schema_accounts.sql").read_text("utf-8"))
        connection.execute(f"pragma user_version = {VERSION}")
    for pragma in ("synchronous=FULL", "foreign_keys=ON", "trusted_schema=OFF"):
        connection.execute(f"pragma {pragma}")
    return connection


def key_of(name: str) -> str:
    """A name as it is compared."""
    return " ".join(unicodedata.normalize("NFKC", name[: 4 * LONGEST_NAME]).casefold().split())


def lane_of(name: str) -> str:
    """The lane in which wrong tries at a name are counted, whether anybody has that name or not."""
    return f"name:{hashlib.sha256(key_of(name).encode('utf-8', 'surrogatepass')).hexdigest()[:32]}"


def name_problem(name: str) -> str | None:
    """Why a name can't be taken; None where it can."""
    if not 1 <= len(name.strip()) <= LONGEST_NAME:
        return f"A name has 1 to {LONGEST_NAME} characters."
    if any(unicodedata.category(c) in {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"} for c in name):
        return "A name is written in letters that can be seen."
    if key_of(name) in {"household", "load", "file", "nobody", "anonymous"}:
        return f"{name} has a meaning of its own in the log: choose another name."
    return None


def people(connection: sqlite3.Connection) -> list[Person]:
    """Everybody: those let in first, then by role from the manager down, then by name."""
    found = [_person(row) for row in connection.execute(f"select {_COLUMNS} from people")]
    return sorted(found, key=lambda p: (p.is_disabled, -ROLES.index(p.role), p.name.casefold()))


def find(connection: sqlite3.Connection, name: str) -> Person:
    """The person of a name.

    Raises:
        Refused: there is none.
    """
    row = connection.execute(f"select {_COLUMNS} from people where name_key = ?", (key_of(name),)).fetchone()
    if row is None:
        raise Refused(f"There is no {name.strip()!r} here.")
    return _person(row)


def add(
    connection: sqlite3.Connection, name: str, role: str, *, pin: str = "", password: str = "", actor: str
) -> Person:  # fmt: skip
    """A new account.

    Raises:
        Refused: the name is taken or unfit, the role is none, the PIN or password too weak or missing.
    """
    name = " ".join(unicodedata.normalize("NFC", name).split())
    if role not in ROLES:
        raise Refused(f"{role!r} is not a role. Roles: {', '.join(ROLES)}.")
    problem = name_problem(name) or _secret_problem(name, role, pin, password, has_password=False)
    if problem:
        raise Refused(problem)
    kept = {"pin": passwords.keep(pin) if pin else None, "password": passwords.keep(password) if password else None}
    now = int(time.time())
    row = {"name": name, "key": key_of(name), "role": role, "now": now, **kept}
    with transaction(connection):
        if role != "manager" and not _managers(connection):
            raise Refused("The first person must be a manager, or nobody could add the others.")
        if connection.execute("select 1 from people where name_key = ?", (row["key"],)).fetchone():
            raise Refused(f"There is a {name!r} already: choose a name that nobody mistakes.")
        connection.execute(
            "insert into people (name, name_key, role, pin, password, made_at, changed_at)"
            " values (:name, :key, :role, :pin, :password, :now, :now)", row,
        )  # fmt: skip
        made = find(connection, name)
        _note(connection, actor, made.id, f"added as {'shared tablet' if role == 'station' else role}")
    return made


def reset(
    connection: sqlite3.Connection, person: int, *, pin: str = "", password: str = "", actor: str, but: str = ""
) -> None:  # fmt: skip
    """A new PIN, password or both; the others stay. Whoever was signed in with the old one no longer is.

    Args:
        but: the session's cookie that goes on, where somebody changes their own.

    Raises:
        Refused: too weak, or not what this role signs in with.
    """
    who = by_id(connection, person)
    problem = _secret_problem(who.name, who.role, pin, password, has_password=who.has_password)
    if problem:
        raise Refused(problem)
    kept = {name: passwords.keep(text) for name, text in (("pin", pin), ("password", password)) if text}
    with transaction(connection):
        for name, hashed in kept.items():
            connection.execute(f"update people set {name} = ? where id = ?", (hashed, person))
        end_sessions(connection, person, but)
        connection.execute("delete from tries where lane glob ?", (f"*{lane_of(who.name)}*",))
        _note(connection, actor, person, f"new {' and '.join(kept)}".replace("pin", "PIN"))


def set_disabled(connection: sqlite3.Connection, person: int, *, is_disabled: bool, actor: str) -> None:
    """Lets nobody in under this account any more, or again; who is signed in is out at once.

    Raises:
        Refused: it is the last manager.
    """
    with transaction(connection):
        who = by_id(connection, person)
        if is_disabled and who.role == "manager" and _managers(connection) == {person}:
            raise Refused(f"{who.name} is the last manager: add another first.")
        connection.execute(
            "update people set is_disabled = ?, changed_at = ? where id = ?", (is_disabled, int(time.time()), person)
        )
        if is_disabled:
            end_sessions(connection, person)
        _note(connection, actor, person, "disabled" if is_disabled else "let in again")


def by_id(connection: sqlite3.Connection, person: int) -> Person:
    """The person of a number.

    Raises:
        Refused: there is none.
    """
    row = connection.execute(f"select {_COLUMNS} from people where id = ?", (person,)).fetchone()
    if row is None:
        raise Refused("There is no such person here.")
    return _person(row)


def end_sessions(connection: sqlite3.Connection, person: int, but: str = "") -> None:
    """Ends every signing-in of a person, on every device but the one with the cookie given."""
    connection.execute(
        "update sessions set ended_at = ? where person_id = ? and ended_at is null and token <> ?",
        (int(time.time()), person, digest(but)),
    )


def digest(token: str) -> str:
    """What is kept of a cookie: it can't be turned back into one."""
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()


def _secret_problem(name: str, role: str, pin: str, password: str, *, has_password: bool) -> str | None:
    """Why these secrets don't do for a role."""
    if not pin and not password:
        return "Say a PIN or a password."
    if not password and not has_password and role in OFFICE | {"station"}:
        return f"A {role} signs in with a password; a PIN alone only signs entries on a shared tablet."
    if pin and role == "station":
        return "A tablet has no PIN: the people who use it have theirs."
    problem = passwords.pin_problem(pin) if pin else None
    return problem or (passwords.password_problem(password, name) if password else None)


def _managers(connection: sqlite3.Connection) -> set[int]:
    return {i for (i,) in connection.execute("select id from people where role = 'manager' and is_disabled = 0")}


def _note(connection: sqlite3.Connection, actor: str, person: int, what: str) -> None:
    connection.execute(
        "insert into account_events (at, actor, person_id, what) values (?, ?, ?, ?)",
        (int(time.time()), actor, person, what),
    )


def _person(row: tuple[int, str, str, int, int, int, int]) -> Person:
    number, name, role, pin, password, disabled, made = row
    return Person(number, name, role, bool(pin), bool(password), bool(disabled), made)
