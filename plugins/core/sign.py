"""Who writes an entry down."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from stillroom.db import accounts, sessions
from stillroom.plugins.core.auth import decide, is_household, role_of
from stillroom.plugins.core.people import SESSION, Crowded, cookie, house

NOBODY = "Nobody is signed in here. Sign in, then send it again."
WHO = "Tap your name: an entry is signed by a person."
PIN = "Type your PIN: four to eight digits."
WRONG = "That PIN is not right for that name. Nothing was written."
MAY_NOT = "A server does not sign in the kitchen's log."
CROWDED = "Too many are signing at once. Nothing was written: send it again."


@dataclass(frozen=True)
class Writer:
    """The person behind an entry: the name that the log keeps, and the role."""

    name: str
    role: str


def may_undo(row: Mapping[str, Any], writer: Writer) -> bool:
    """Whether somebody may take an entry back: whoever wrote it, and chef and manager always.

    Args:
        row: the entry's origin and actor among its columns.
        writer: who asks.
    """
    return decide(writer.role, "undo-any") or (row["origin"] == "web" and row["actor"] == writer.name)


def choices(datasette: Any, request: Any) -> list[str]:
    """The people to tap on a shared tablet, each to sign with their PIN; empty where whoever is signed in signs."""
    return house(datasette).signers() if role_of(request.actor) == "station" else []


async def writer(datasette: Any, request: Any, fields: Mapping[str, str]) -> Writer | str:
    """Who signs a form: whoever is signed in, or on a shared tablet the person picked with their PIN.

    Args:
        fields: the form's; a tablet's form carries `who` and `pin` (`core/who.html` draws them).

    Returns:
        The writer; a text says why the form can't be signed.
    """
    if request.actor is None:
        return NOBODY
    if is_household(request.actor) or role_of(request.actor) != "station":
        return Writer(str(request.actor.get("name") or request.actor.get("id", "")), role_of(request.actor))
    who, pin = fields.get("who", "").strip(), fields.get("pin", "").strip()
    if not who or not pin:
        return WHO if not who else PIN
    tried = sessions.Try(who, pin, "", cookie(request, SESSION))
    try:
        found = await house(datasette).hashed(lambda connection: sessions.check_pin(connection, tried))
    except Crowded:
        return CROWDED
    return _signed(found)


def _signed(found: accounts.Person | sessions.Wait | None) -> Writer | str:
    if found is None:
        return WRONG
    if isinstance(found, sessions.Wait):
        return f"Too many wrong PINs for that name on this tablet. Wait {found.seconds} seconds. Nothing was written."
    return Writer(found.name, found.role) if found.role in {"cook", "chef", "manager"} else MAY_NOT
