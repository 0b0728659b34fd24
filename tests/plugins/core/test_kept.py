"""The first page's word on backups: when, where, and a warning where the last is too old or failed."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from stillroom.loaders.backup import backup
from stillroom.loaders.commands import application
from stillroom.plugins.core import auth
from stillroom.plugins.core.kept import said_of

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
LONDON = ZoneInfo("Europe/London")
WHOLE, FAILED = "", "no backup was made in /mnt/disk: No space left on device"


@pytest.mark.parametrize(
    ("tried", "when", "warning"),
    [
        ([("2026-11-25T04:00:00Z", "a.db", WHOLE)], "today, 04:00", ""),
        ([("2026-11-24T00:00:00Z", "a.db", WHOLE)], "yesterday, 00:00", ""),  # 36 h to the minute
        ([("2026-11-23T23:59:00Z", "a.db", WHOLE)], "last Monday, 23:59", "no backup for 36 hours"),
        ([("2026-11-01T04:00:00Z", "a.db", WHOLE)], "1 November, 04:00", "no backup for 24 days"),
        ([("2026-11-25T04:00:00Z", "b.db", FAILED), ("2026-11-24T04:00:00Z", "a.db", WHOLE)],
         "yesterday, 04:00", "the last backup failed"),
        ([("2026-11-26T04:00:00Z", "a.db", WHOLE)], "tomorrow, 04:00", "the clock of this machine was set back"),
        ([], "", "no backup for 48 hours"),
    ],
)  # fmt: skip
def test_what_is_said(tried: list[tuple[str, str, str]], when: str, warning: str) -> None:
    """36 hours are a night missed and half a day; a failure is said whatever went before it."""
    found = said_of(tried, "2026-11-23T12:00:00Z", NOW, LONDON)
    assert (found.when, found.warning) == (when, warning)
    assert found.problem == (tried[0][2] if tried else "")


def test_a_kitchen_filled_today_has_no_warning() -> None:
    """Its first night is still to come."""
    found = said_of([], "2026-11-25T08:00:00Z", NOW, LONDON)
    assert (found.made_at, found.warning) == (None, "")


def test_only_the_office_is_told() -> None:
    """A path of the machine's is nothing for the floor."""
    assert [role for role in ("server", "cook", "chef", "manager", "") if auth.decide(role, "backups")] == [
        "chef", "manager",
    ]  # fmt: skip


async def test_the_first_page_shows_it(demo_db: Path, tmp_path: Path) -> None:
    """As a part of the page, and of its data."""
    with closing(sqlite3.connect(demo_db)) as source, closing(sqlite3.connect(tmp_path / "k.db")) as target:
        source.backup(target)
    house: Any = application(tmp_path / "k.db")
    assert "None yet" in (await house.client.get("/")).text
    copy = backup(tmp_path / "k.db", tmp_path / "safe")
    page = (await house.client.get("/")).text
    part = page.partition("Last backup")[2][:400]
    assert str(copy.path) in part and "verdict may" not in part
    assert (await house.client.get("/.json")).json()["backup"]["made_at"] == copy.made_at
