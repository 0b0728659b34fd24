"""Who signs an entry: whoever is signed in, or on a shared tablet the person tapped, with their PIN."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest
from stillroom.plugins.core import people, sign


def _request(staffed: Any, role: str) -> Any:
    cookies = staffed.cookies[role]
    actor = people.house(staffed.house).actor(cookies.get(people.SESSION, ""))
    return SimpleNamespace(actor=actor, cookies=cookies, scope={"scheme": "http"})


@pytest.mark.parametrize("role", ["server", "cook", "chef", "manager"])
async def test_whoever_is_signed_in_signs(staffed: Any, role: str) -> None:
    """Fields of a form can't say otherwise."""
    request = _request(staffed, role)
    found = await sign.writer(staffed.house, request, {"who": "Ann", "pin": "0000"})
    assert found == sign.Writer(staffed.names[role], role) and sign.choices(staffed.house, request) == []


async def test_a_tablet_asks_who_and_for_the_pin(staffed: Any) -> None:
    """The person's name and role, never the tablet's; a server has no entry to sign."""
    request = _request(staffed, "station")
    assert sign.choices(staffed.house, request) == ["Marit", "Tomasz"]
    assert await sign.writer(staffed.house, request, {"who": "Tomasz", "pin": "8264"}) == sign.Writer("Tomasz", "cook")
    assert await sign.writer(staffed.house, request, {"who": "Marit", "pin": "5193"}) == sign.Writer("Marit", "chef")
    said = {"": sign.WHO, "Tomasz": sign.WRONG, "Nobody": sign.WRONG, "Ann": sign.WRONG}
    for who, words in said.items():
        assert await sign.writer(staffed.house, request, {"who": who, "pin": "9999"}) == words
    assert await sign.writer(staffed.house, request, {"who": "Tomasz", "pin": ""}) == sign.PIN
    assert await sign.writer(staffed.house, request, {"who": "Iris", "pin": "4711"}) == sign.MAY_NOT


async def test_wrong_pins_on_a_tablet_make_it_wait(staffed: Any) -> None:
    """The sixth try isn't looked at, right or wrong; another name is."""
    request = _request(staffed, "station")
    for _ in range(5):
        assert await sign.writer(staffed.house, request, {"who": "Tomasz", "pin": "1111"}) == sign.WRONG
    said = await sign.writer(staffed.house, request, {"who": "Tomasz", "pin": "8264"})
    assert isinstance(said, str) and "Wait" in said
    assert await sign.writer(staffed.house, request, {"who": "Marit", "pin": "5193"}) == sign.Writer("Marit", "chef")


async def test_the_household_signs_before_there_are_people(house: Any) -> None:
    """As it always did."""
    actor = people.who_asks(house, SimpleNamespace(cookies={}, scope={}), [])
    assert await sign.writer(house, SimpleNamespace(actor=actor), {}) == sign.Writer("household", "manager")
    assert await sign.writer(house, SimpleNamespace(actor=None), {}) == sign.NOBODY
