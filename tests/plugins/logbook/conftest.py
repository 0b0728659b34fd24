"""A kitchen to write in, apart from the one that other tests read."""

from __future__ import annotations

import re
from collections.abc import Awaitable, Callable
from typing import Any

import pytest

Post = Callable[..., Awaitable[Any]]


@pytest.fixture
def as_role(own_house: Any) -> Callable[[str, str], dict[str, str]]:
    """The cookie of somebody signed in."""
    return lambda role, name="ann": {
        "ds_actor": own_house.sign({"a": {"id": name, "name": name, "role": role}}, "actor")
    }


@pytest.fixture
def post(own_house: Any) -> Post:
    """Opens a form, types into it, sends it."""

    async def send(path: str, cookies: dict[str, str] | None = None, request: str = "", **typed: str) -> Any:
        client = own_house.client
        opened = await client.get(path, cookies=cookies)
        assert opened.status_code == 200, opened.text
        fields = dict(re.findall(r'<input type="hidden" name="([^"]*)" value="([^"]*)"', opened.text))
        fields |= {"request": request} if request else {}
        fields |= {name.replace("__", "-"): text for name, text in typed.items()}
        return await client.post(path, data=fields, cookies={**(cookies or {}), **dict(opened.cookies)})

    return send
