"""Signing in and out, one's own PIN or password, and the manager's list of people."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any

from datasette.utils.asgi import Response
from stillroom.db import accounts, sessions
from stillroom.db.roles import OFFICE
from stillroom.plugins.core import people as door
from stillroom.plugins.core.auth import is_household
from stillroom.plugins.core.forms import posted
from stillroom.plugins.core.pages import html, page, plain
from stillroom.plugins.people import changes

WRONG = "Name and PIN or password do not go together. Try again."
CROWDED = "Too many sign in at once. Try again in a moment."
BOTH = "Say who you are, and your PIN or password."
_HERE = re.compile(r"/(?![/\\])[!-\[\]-~]{0,1000}")
SMALL = 20_000


@dataclass(frozen=True)
class SignIn:
    """The sign-in page: whom to tap on a device that is known, and what went wrong."""

    names: list[accounts.Person]
    who: str
    chosen: accounts.Person | None
    next: str
    wrong: str = ""
    has_people: bool = True

    @property
    def wants_pin(self) -> bool:
        """Whether whoever was tapped signs in with a PIN, so that large keys help."""
        return self.chosen is not None and self.chosen.has_pin and self.chosen.role not in OFFICE


@dataclass(frozen=True)
class Account:
    """Whoever is signed in here, and what came of a change."""

    name: str
    role: str
    has_pin: bool
    has_password: bool
    wrong: str = ""
    done: str = ""


@dataclass(frozen=True)
class People:
    """Everybody with an account, the latest changes, what came of this one."""

    people: list[dict[str, Any]]
    events: list[dict[str, Any]]
    devices: int
    typed: dict[str, str] = field(default_factory=dict)
    wrong: str = ""
    done: str = ""

    def as_json(self) -> dict[str, Any]:
        """The list as data: names, roles, whether they may come in."""
        return {"people": self.people, "devices": self.devices}


def local(path: str) -> str:
    """A page of this house to go on to; '/' for anything that could lead elsewhere."""
    return path if _HERE.fullmatch(path) and not path.startswith("/sign-") else "/"


@page("people/sign_in.html", needs="sign-in", methods=("GET", "HEAD", "POST"))
async def sign_in(datasette: Any, request: Any) -> SignIn | Response:
    if request.method == "POST":
        return await _sign_in(datasette, request)
    return _sign_in_page(datasette, request, request.args.get("who") or "", request.args.get("next") or "/")


def _sign_in_page(datasette: Any, request: Any, who: str, then: str, wrong: str = "") -> SignIn:
    at = door.house(datasette)
    names = at.people(door.cookie(request, door.DEVICE))
    chosen = next((p for p in names if p.name == who), None)
    return SignIn(names, who[: accounts.LONGEST_NAME], chosen, local(then), wrong, at.has_people())


async def _sign_in(datasette: Any, request: Any) -> Response:
    fields = await posted(request, SMALL)
    who, secret, then = fields.get("who", ""), fields.get("secret", ""), fields.get("next", "/")
    if not who.strip() or not secret:
        return await _again(datasette, request, who, then, (403, BOTH, {}))
    address = (request.scope.get("client") or ("unknown", 0))[0]
    tried = sessions.Try(who, secret, address, door.cookie(request, door.DEVICE))
    try:
        entry = await door.house(datasette).hashed(lambda connection: sessions.sign_in(connection, tried))
    except door.Crowded:
        return await _again(datasette, request, who, then, (503, CROWDED, {"retry-after": "3"}))
    if isinstance(entry, sessions.Wait):
        words = f"Too many wrong tries. Wait {waited(entry.seconds)}, then try again."
        return await _again(datasette, request, who, then, (429, words, {"retry-after": str(entry.seconds)}))
    if entry is None:
        return await _again(datasette, request, who, then, (403, WRONG, {}))
    old = door.cookie(request, door.SESSION)
    await door.house(datasette).work(lambda connection: sessions.end(connection, old))
    response = Response.redirect(local(then), status=303)
    door.set_cookie(response, request, door.SESSION, entry.session, entry.lasts)
    door.set_cookie(response, request, door.DEVICE, entry.device, sessions.DEVICE_KNOWN)
    return response


async def _again(
    datasette: Any, request: Any, who: str, then: str, said: tuple[int, str, dict[str, str]]
) -> Response:  # fmt: skip
    status, words, headers = said
    answer = _sign_in_page(datasette, request, who, then, words)
    response = await html(datasette, request, "people/sign_in.html", answer, status=status)
    response.headers.update(headers)
    return response


def waited(seconds: int) -> str:
    """A wait in words."""
    if seconds < 90:
        return f"{seconds} seconds"
    return f"{-(-seconds // 60)} minutes"


@page("people/account.html", needs="account", methods=("GET", "HEAD", "POST"))
async def sign_out(datasette: Any, request: Any) -> Account | Response:
    if request.method != "POST":
        return await _account(datasette, request)
    fields = await posted(request, SMALL)
    session, person = door.cookie(request, door.SESSION), request.actor["id"]
    if fields.get("where") == "everywhere" and not is_household(request.actor):
        await door.house(datasette).work(lambda connection: accounts.end_sessions(connection, person))
    else:
        await door.house(datasette).work(lambda connection: sessions.end(connection, session))
    response = Response.redirect("/sign-in", status=303)
    door.set_cookie(response, request, door.SESSION, "", 0)
    return response


async def _account(datasette: Any, request: Any, wrong: str = "", done: str = "") -> Account | Response:
    if is_household(request.actor):
        words = "Nobody has an account yet. The first is a manager's: open People to add it."
        return await plain(datasette, request, 404, "No accounts yet", words)
    number = request.actor["id"]
    me = await door.house(datasette).work(lambda connection: accounts.by_id(connection, number))
    return Account(me.name, me.role, me.has_pin, me.has_password, wrong, done)


@page("people/account.html", needs="account", methods=("GET", "HEAD", "POST"))
async def account(datasette: Any, request: Any) -> Account | Response:
    """One's own PIN or password: the old one is asked for, the session goes on."""
    if request.method != "POST" or is_household(request.actor):
        return await _account(datasette, request)
    fields = await posted(request, SMALL)
    new = {name: fields.get(name, "") for name in ("pin", "password")}
    tried = sessions.Try(request.actor["name"], fields.get("old", ""), "", door.cookie(request, door.SESSION))
    try:
        said = await door.house(datasette).hashed(lambda c: changes.own(c, request.actor, tried, new))
    except door.Crowded:
        said = CROWDED
    if said:
        return await _account(datasette, request, wrong=said)
    kind = "PIN" if new["pin"] else "password"
    return await _account(datasette, request, done=f"Your {kind} is new. Other devices are signed out.")


@page("people/people.html", needs="people", methods=("GET", "HEAD", "POST"))
async def people(datasette: Any, request: Any) -> People | Response:
    at = door.house(datasette)
    if request.method != "POST":
        if not at.has_people():
            return People([], [], 0)
        return await at.work(lambda connection: changes.listed(connection, People))
    fields = await posted(request, SMALL)
    actor = str(request.actor["name"])
    try:
        done = await at.hashed(lambda connection: changes.change(connection, fields, actor))
        wrong = ""
    except (accounts.Refused, door.Crowded) as error:
        done, wrong = "", str(error) or CROWDED
    if is_household(request.actor) and not wrong:
        return Response.redirect("/sign-in", status=303)
    typed = {k: v for k, v in fields.items() if k in {"name", "role"}} if wrong else {}
    return await at.work(lambda connection: changes.listed(connection, People, typed=typed, wrong=wrong, done=done))
