"""Somebody signed in, for the tests of trials through the front door."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable
from typing import Any

import pytest


class Person:
    """Somebody signed in under a role."""

    def __init__(self, staffed: Any, role: str) -> None:
        self.client, self.cookies, self.path = staffed.house.client, dict(staffed.cookies[role]), staffed.path

    async def get(self, path: str) -> Any:
        """A page, its token kept."""
        answer = await self.client.get(path, cookies=self.cookies)
        self.cookies |= dict(answer.cookies)
        return answer

    async def post(self, path: str, page: Any, **fields: Any) -> Any:
        """A form of a page, with what it hides."""
        token = re.search(r'name="csrftoken" value="([^"]*)"', page.text)
        assert token
        hidden = hidden_of(page.text)
        return await self.client.post(
            path, data={**hidden, "csrftoken": token[1], **fields}, cookies=self.cookies, follow_redirects=False
        )

    def rows(self, sql: str) -> list[tuple[Any, ...]]:
        """What the file holds."""
        with sqlite3.connect(f"file:{self.path}?mode=ro", uri=True) as connection:
            return connection.execute(sql).fetchall()


def hidden_of(text: str) -> dict[str, str]:
    """Hidden fields of a page's forms."""
    return dict(re.findall(r'<input type="hidden" name="(request|seen|based_on|rows|kind)" value="([^"]*)"', text))


@pytest.fixture
def signed_in(staffed: Any) -> Callable[[str], Person]:
    """Somebody signed in under the role named."""
    return lambda role: Person(staffed, role)


@pytest.fixture
def chef(staffed: Any) -> Person:
    """Marit."""
    return Person(staffed, "chef")
