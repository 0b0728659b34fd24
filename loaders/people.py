"""`stillroom people`: who may come in. PINs and passwords are asked on the terminal, never given as an argument."""

from __future__ import annotations

import argparse
import getpass
import sqlite3
import sys
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

from stillroom.db import accounts, sessions
from stillroom.db.accounts import Refused
from stillroom.db.roles import OFFICE, ROLE_WORDS, ROLES, matrix

ACTOR = "command line"
DOES = {
    "add": "add somebody; the first is a manager",
    "list": "say who has an account",
    "disable": "let somebody in no more; they are signed out at once",
    "enable": "let somebody in again",
    "reset": "give a new PIN or password",
    "tablet": "add a shared tablet: it stays signed in, each entry is signed with a PIN",
    "forget-devices": "forget every device: all sign in anew",
    "roles": "print who may do what",
}


def arguments(parser: argparse.ArgumentParser, database: Path) -> None:
    """What `people` takes."""
    parser.add_argument("--db", type=Path, default=database, help=f"the kitchen's database (default {database})")
    actions = parser.add_subparsers(dest="action", required=True, metavar="ACTION")
    for name, does in DOES.items():
        action = actions.add_parser(name, help=does, description=f"{does[0].upper()}{does[1:]}.")
        # Said after the action it counts too, and left out there it does not undo what was said before.
        action.add_argument("--db", type=Path, default=argparse.SUPPRESS, help=argparse.SUPPRESS)
        if name in {"add", "disable", "enable", "reset", "tablet"}:
            action.add_argument("name", metavar="NAME", help="as the log shall show it")
        if name == "add":
            said = "; ".join(f"{role}: {words}" for role, words in ROLE_WORDS.items() if role != "station")
            action.add_argument("--role", required=True, choices=[r for r in ROLES if r != "station"], help=said)
        if name in {"add", "reset"}:
            action.add_argument("--pin", action="store_true", help="ask for a PIN (4 to 8 digits)")
            action.add_argument("--password", action="store_true", help="ask for a password (10 characters or more)")


def run(said: argparse.Namespace) -> int:
    """Does one action; 2 where it can't be done."""
    if said.action == "roles":
        print("\n".join(matrix()))
        return 0
    try:
        if not said.db.exists():
            raise Refused(f"there is no kitchen at {said.db}; build it first, or say --db")
        if said.action not in {"add", "tablet"} and not accounts.exists(said.db):
            raise Refused("nobody has an account yet; the first: stillroom people add NAME --role manager")
        with accounts.opened(accounts.beside(said.db)) as connection:
            print(_ACTIONS[said.action](connection, said))
    except (Refused, sqlite3.Error, OSError) as error:
        print(f"stillroom: {error}", file=sys.stderr)
        return 2
    return 0


def _add(connection: sqlite3.Connection, said: argparse.Namespace) -> str:
    is_office = said.role in OFFICE
    pin, password = _secrets(
        said.name, has_pin=said.pin or not (said.password or is_office), has_password=said.password or is_office
    )
    made = accounts.add(connection, said.name, said.role, pin=pin, password=password, actor=ACTOR)
    count = len(accounts.people(connection))
    first = "\nFrom now on everybody signs in, on this machine too." if count == 1 else ""
    return f"{made.name} may come in as {made.role}.{first}"


def _tablet(connection: sqlite3.Connection, said: argparse.Namespace) -> str:
    _, password = _secrets(said.name, has_pin=False, has_password=True)
    made = accounts.add(connection, said.name, "station", password=password, actor=ACTOR)
    return f"{made.name}: sign it in once on the tablet, by this name and password. It stays signed in for half a year."


def _reset(connection: sqlite3.Connection, said: argparse.Namespace) -> str:
    who = accounts.find(connection, said.name)
    wants_pin = said.pin or not (said.password or who.has_password)
    pin, password = _secrets(who.name, has_pin=wants_pin, has_password=said.password or not wants_pin)
    accounts.reset(connection, who.id, pin=pin, password=password, actor=ACTOR)
    return f"{who.name} signs in with the new one, and is signed out everywhere."


def _disable(connection: sqlite3.Connection, said: argparse.Namespace) -> str:
    who = accounts.find(connection, said.name)
    accounts.set_disabled(connection, who.id, is_disabled=True, actor=ACTOR)
    return f"{who.name} may no longer come in, and is signed out everywhere."


def _enable(connection: sqlite3.Connection, said: argparse.Namespace) -> str:
    who = accounts.find(connection, said.name)
    accounts.set_disabled(connection, who.id, is_disabled=False, actor=ACTOR)
    return f"{who.name} may come in again."


def _forget(connection: sqlite3.Connection, said: argparse.Namespace) -> str:
    count = sessions.forget_devices(connection, ACTOR)
    return f"{count} {'device is' if count == 1 else 'devices are'} forgotten. Everybody signs in anew."


def _list(connection: sqlite3.Connection, said: argparse.Namespace) -> str:
    return "\n".join(_lines(connection))


def _lines(connection: sqlite3.Connection) -> Iterator[str]:
    last = dict(connection.execute("select person_id, max(made_at) from sessions group by person_id"))
    for p in accounts.people(connection):
        has = " and ".join(word for word, has in (("PIN", p.has_pin), ("password", p.has_password)) if has)
        role = "tablet" if p.role == "station" else p.role
        seen = f"last in {datetime.fromtimestamp(last[p.id], UTC):%Y-%m-%d}" if p.id in last else ""
        yield f"{p.name:<24}  {role:<8}  {has:<16}  {'disabled' if p.is_disabled else seen}".rstrip()


def _secrets(name: str, *, has_pin: bool, has_password: bool) -> tuple[str, str]:
    pin = _asked(f"PIN for {name} (4 to 8 digits)") if has_pin else ""
    password = _asked(f"Password for {name} (10 characters or more)") if has_password else ""
    return pin, password


def _asked(what: str) -> str:
    """A secret typed twice without being shown; from a pipe, one line."""
    if not sys.stdin.isatty():
        line = sys.stdin.readline()
        if not line.strip():
            raise Refused(f"{what}: nothing was typed")
        return line.rstrip("\r\n")
    first = getpass.getpass(f"{what}: ")
    if getpass.getpass("Once more: ") != first:
        raise Refused("the two are not the same; nothing was changed")
    return first


_ACTIONS: dict[str, Callable[[sqlite3.Connection, argparse.Namespace], str]] = {
    "add": _add, "list": _list, "disable": _disable, "enable": _enable, "reset": _reset, "tablet": _tablet,
    "forget-devices": _forget,
}  # fmt: skip
