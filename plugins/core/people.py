"""Who comes in: the accounts beside the kitchen's file, asked on every request, and the cookies that stand for them."""

from __future__ import annotations

import asyncio
import os
import sqlite3
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar
from weakref import WeakKeyDictionary

from stillroom.db import accounts, sessions
from stillroom.plugins.core.auth import DATABASE, HOUSEHOLD, role_of

T = TypeVar("T")
SESSION, DEVICE = "stillroom_session", "stillroom_device"
HASHING = 2  # each takes 16 MB and a sixth of a second of one core
MOST_WAITING = 40


class Crowded(Exception):
    """More people try to sign in at once than can be looked at."""


class House:
    """The accounts of one kitchen as one server sees them. What a session stands for is kept until the file changes."""

    def __init__(self, kitchen: Path, must_have_people: bool = False) -> None:
        self.path = accounts.beside(kitchen)
        self._had_people = must_have_people
        self._reader: sqlite3.Connection | None = None
        self._file = 0
        self._version = -1
        self._known: dict[str, tuple[dict[str, Any], int]] = {}
        self._waiting = 0
        self._hashing: asyncio.Semaphore | None = None

    def has_people(self) -> bool:
        """Whether anybody has an account; once so, always so: a lost file keeps everybody out."""
        return self._look() is not None or self._had_people

    def actor(self, session: str) -> dict[str, Any] | None:
        """Who the session's cookie stands for now."""
        reader = self._look()
        if reader is None or not session:
            return None
        if session not in self._known:
            found = sessions.actor_of(reader, session, time.time())
            if found is None:
                return None
            if len(self._known) > 1000:
                self._known.clear()
            self._known[session] = found
        actor, until = self._known[session]
        return dict(actor) if until > time.time() else None

    def signers(self) -> list[str]:
        """Names of those who may sign an entry on a shared tablet."""
        reader = self._look()
        found = [] if reader is None else accounts.people(reader)
        return [p.name for p in found if p.has_pin and not p.is_disabled and p.role in {"cook", "chef", "manager"}]

    def people(self, device: str) -> list[accounts.Person]:
        """People to tap when signing in, who were here last first: none on a device that nobody has signed in on."""
        reader = self._look()
        if reader is None or not sessions.is_known(reader, device):
            return []
        last = sessions.last_on(reader, device)
        found = [p for p in accounts.people(reader) if not p.is_disabled]
        return sorted(found, key=lambda p: -last.get(p.id, 0))

    async def hashed(self, work: Callable[[sqlite3.Connection], T]) -> T:
        """What `work` returns, which makes a hash, off the event loop; a few at a time.

        Raises:
            Crowded: too many are waiting already.
        """
        if self._waiting >= MOST_WAITING:
            raise Crowded
        if self._hashing is None:
            self._hashing = asyncio.Semaphore(HASHING)
        self._waiting += 1
        try:
            async with self._hashing:
                return await self.work(work)
        finally:
            self._waiting -= 1

    async def work(self, work: Callable[[sqlite3.Connection], T]) -> T:
        """What `work` returns, with a connection of its own, off the event loop."""

        def run() -> T:
            with accounts.opened(self.path) as connection:
                return work(connection)

        return await asyncio.to_thread(run)

    def _look(self) -> sqlite3.Connection | None:
        """The reader, if anybody has an account; what was remembered goes when another connection wrote."""
        try:
            file = os.stat(self.path).st_ino
        except FileNotFoundError:
            self._forget()
            return None
        try:
            if file != self._file or self._reader is None:
                self._forget()
                self._reader, self._file = accounts.connect(self.path), file
            (version,) = self._reader.execute("pragma data_version").fetchone()
            if version != self._version:
                self._known.clear()
                has_people = self._reader.execute("select 1 from people limit 1").fetchone() is not None
                self._had_people, self._version = self._had_people or has_people, version
        except (sqlite3.Error, accounts.Refused):
            self._forget()
            self._had_people = True
        return self._reader if self._had_people else None

    def _forget(self) -> None:
        if self._reader is not None:
            self._reader.close()
        self._reader, self._file, self._version = None, 0, -1
        self._known.clear()


_houses: WeakKeyDictionary[Any, House] = WeakKeyDictionary()


def house(datasette: Any) -> House:
    """The accounts of the kitchen that this Datasette serves."""
    if datasette not in _houses:
        said = datasette.plugin_config("stillroom") or {}
        is_shown = bool(said.get("is_open") or said.get("names"))  # to other machines: never without people
        _houses[datasette] = House(Path(datasette.get_database(DATABASE).path), is_shown)
    return _houses[datasette]


def is_secure(request: Any) -> bool:
    """Whether the browser came by TLS: here, or at a proxy that was named as trusted."""
    return bool(request.scope.get("scheme") == "https")


def cookie_name(request: Any, name: str) -> str:
    """Behind TLS the name has a prefix that no page of another name or without TLS can set."""
    return f"__Host-{name}" if is_secure(request) else name


def cookie(request: Any, name: str) -> str:
    """What a cookie of ours holds."""
    return str(request.cookies.get(cookie_name(request, name), ""))


def set_cookie(response: Any, request: Any, name: str, value: str, lasts: int) -> None:
    """Gives the browser a cookie that no script reads and no other site sends along with a form; lasts [s]."""
    response.set_cookie(
        cookie_name(request, name), value, max_age=lasts, httponly=True, samesite="lax", secure=is_secure(request)
    )


def who_asks(datasette: Any, request: Any, stock: list[Any]) -> dict[str, Any] | None:
    """Whoever is signed in; before there are accounts, the household. Datasette's own sign-in counts only till then."""
    at = house(datasette)
    if not at.has_people():
        return next((actor for actor in stock if isinstance(actor, dict)), None) or dict(HOUSEHOLD)
    return at.actor(cookie(request, SESSION))


def role_here(datasette: Any, actor: dict[str, Any] | None) -> str:
    """The role of an actor in this house, as Datasette's own pages ask for it: without accounts, the household's."""
    if actor is None and not house(datasette).has_people():
        actor = HOUSEHOLD
    return role_of(actor)
