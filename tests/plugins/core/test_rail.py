"""The doors in the frame: those that a role may open, the open one in front."""

from __future__ import annotations

import pytest
from stillroom.db.roles import ROLES, may
from stillroom.plugins.core.rail import DOORS, IN_FRONT, is_here, rail


@pytest.mark.parametrize("role", ROLES)
def test_a_role_sees_the_doors_it_may_open(role: str) -> None:
    """No door that refuses, and each that opens, in one of the rooms."""
    shown = {door.path for _, doors in rail(role, "/").rooms for door in doors}
    mine = {door.path for door in DOORS if may(role, door.needs if door.needs != "view-database" else "tables")}
    assert shown == mine and {door.path for door in rail(role, "/").front} == set(IN_FRONT[role]) & mine


def test_the_open_door_stands_in_front() -> None:
    """A page below a door, or its data, is behind that door; the first page is only itself."""
    made = rail("cook", "/trace/lot-7.json")
    assert made.here is not None and made.here.path == "/trace" and made.front[-1] == made.here
    assert is_here("/cost.csv", "/cost") and not is_here("/costly", "/cost") and not is_here("/cost", "/")


def test_strangers_see_no_door() -> None:
    """Nobody signed in, nothing to open."""
    assert rail("anonymous", "/sign-in").rooms == () == rail("anonymous", "/sign-in").front
