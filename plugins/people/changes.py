"""What a form of the list of people, or of one's own account, does to the accounts."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from typing import Any, TypeVar

from stillroom.db import accounts, sessions
from stillroom.db.accounts import Refused
from stillroom.db.number import whole

T = TypeVar("T")
EVENTS_SHOWN = 20


def own(connection: sqlite3.Connection, actor: Mapping[str, Any], tried: sessions.Try, new: Mapping[str, str]) -> str:
    """Changes one's own PIN or password; words say why not.

    Args:
        actor: whoever is signed in.
        tried: with the old PIN or password; wrong ones are counted as at the door.
        new: 'pin', 'password'; the empty one stays.
    """
    found = sessions.check_secret(connection, tried)
    if isinstance(found, sessions.Wait):
        return f"Too many wrong tries. Wait {found.seconds} seconds."
    if not found:
        return "The old PIN or password is not right. Nothing was changed."
    try:
        accounts.reset(
            connection, actor["id"], pin=new["pin"], password=new["password"], actor=actor["name"], but=tried.device
        )
    except Refused as error:
        return str(error)
    return ""


def change(connection: sqlite3.Connection, fields: Mapping[str, str], actor: str) -> str:
    """Does what a manager's form says; returns what was done, in words.

    Raises:
        Refused: it can't be done; the words say why.
    """
    does: dict[str, Callable[[sqlite3.Connection, Mapping[str, str], str], str]] = {
        "add": _add, "disable": _disable, "enable": _enable, "reset": _reset, "forget": _forget,
    }  # fmt: skip
    if fields.get("do") not in does:
        raise Refused("Nothing was changed: the form did not say what to do.")
    return does[fields["do"]](connection, fields, actor)


def _add(connection: sqlite3.Connection, fields: Mapping[str, str], actor: str) -> str:
    made = accounts.add(
        connection, fields.get("name", ""), fields.get("role", ""), pin=fields.get("pin", ""),
        password=fields.get("password", ""), actor=actor,
    )  # fmt: skip
    return f"{made.name} may come in."


def _disable(connection: sqlite3.Connection, fields: Mapping[str, str], actor: str) -> str:
    who = _person(connection, fields)
    accounts.set_disabled(connection, who.id, is_disabled=True, actor=actor)
    return f"{who.name} may no longer come in, and is signed out everywhere."


def _enable(connection: sqlite3.Connection, fields: Mapping[str, str], actor: str) -> str:
    who = _person(connection, fields)
    accounts.set_disabled(connection, who.id, is_disabled=False, actor=actor)
    return f"{who.name} may come in again."


def _reset(connection: sqlite3.Connection, fields: Mapping[str, str], actor: str) -> str:
    who = _person(connection, fields)
    accounts.reset(connection, who.id, pin=fields.get("pin", ""), password=fields.get("password", ""), actor=actor)
    return f"{who.name} signs in with the new one, and is signed out everywhere."


def _forget(connection: sqlite3.Connection, fields: Mapping[str, str], actor: str) -> str:
    count = sessions.forget_devices(connection, actor)
    return f"{count} {'device is' if count == 1 else 'devices are'} forgotten. Everybody signs in anew."


def _person(connection: sqlite3.Connection, fields: Mapping[str, str]) -> accounts.Person:
    number = whole(fields.get("person", ""))
    if number is None:
        raise Refused("There is no such person here.")
    return accounts.by_id(connection, number)


def listed(connection: sqlite3.Connection, make: Callable[..., T], **said: Any) -> T:
    """Everybody, the devices that are known and the latest changes, as `make` takes them."""
    last = dict(connection.execute("select person_id, max(made_at) from sessions group by person_id"))
    people = [
        {
            "id": p.id, "name": p.name, "role": p.role, "has_pin": p.has_pin, "has_password": p.has_password,
            "is_disabled": p.is_disabled, "last_in": _day(last.get(p.id)),
        }
        for p in accounts.people(connection)
    ]  # fmt: skip
    rows = connection.execute(
        "select e.at, e.actor, p.name, e.what from account_events as e left join people as p on p.id = e.person_id"
        " order by e.id desc limit ?", (EVENTS_SHOWN,),
    )  # fmt: skip
    events = [{"on": _day(at), "actor": actor, "name": name, "what": what} for at, actor, name, what in rows]
    (devices,) = connection.execute("select count(*) from devices").fetchone()
    return make(people, events, devices, **said)


def _day(seconds: int | None) -> str | None:
    return None if seconds is None else datetime.fromtimestamp(seconds, UTC).date().isoformat()
