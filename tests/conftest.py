"""The demonstration kitchen, built once for the whole run, and Datasette on it."""

from __future__ import annotations

import os
import sqlite3
import sys
import threading
from collections.abc import Awaitable, Callable, Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings

# Made-up inputs are new ones in each run by hand, and the same in each run of `.ci/run`, which sets CI.
settings.register_profile("any machine", deadline=None, derandomize="CI" in os.environ)
settings.load_profile("any machine")


@pytest.fixture(autouse=True)
def ended(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Ends the threads and closes the files of every Datasette that a test made: thousands of them would add up."""
    made: list[Any] = []
    if "datasette.app" in sys.modules:
        from datasette.app import Datasette

        begin = Datasette.__init__

        def noted(one: Any, *words: Any, **more: Any) -> None:
            begin(one, *words, **more)
            made.append(one)

        monkeypatch.setattr(Datasette, "__init__", noted)
    yield
    for one in made:
        _end(one)


def _end(datasette: Any) -> None:
    datasette.executor.shutdown()
    for database in datasette.databases.values():
        if database._write_thread is not None:
            _leave(database)
        database.close()


def _leave(database: Any) -> None:
    """The thread that writes waits for ever; what it is given to do here ends it, and is no fault to be told."""
    from datasette.database import WriteTask

    told, threading.excepthook = threading.excepthook, lambda _: None
    database._write_queue.put(WriteTask(lambda _: sys.exit(), None, None))
    database._write_thread.join(10)
    threading.excepthook = told


@pytest.fixture(scope="session")
def demo_db(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demonstration kitchen's database."""
    from stillroom.loaders.build import build

    path = tmp_path_factory.mktemp("demo") / "kitchen.db"
    result = build(Path(__file__).parents[1] / "db" / "demo", path)
    assert result.errors == 0, result.problems[:5]
    return path


@pytest.fixture
async def house(demo_db: Path) -> Any:
    """Datasette as `stillroom serve` sets it up."""
    from stillroom.loaders.commands import application

    datasette = application(demo_db)
    await datasette.invoke_startup()
    return datasette


@pytest.fixture
def own_db(demo_db: Path, tmp_path: Path) -> Path:
    """A copy of the demonstration that a test may write to."""
    path = tmp_path / "kitchen.db"
    source, copy = sqlite3.connect(demo_db), sqlite3.connect(path)
    source.backup(copy)
    copy.execute("pragma journal_mode=wal")
    copy.close()
    source.close()
    return path


@pytest.fixture
async def own_house(own_db: Path) -> Any:
    """Datasette on it; `.file` is where it is."""
    from stillroom.loaders.commands import application

    datasette = application(own_db)
    await datasette.invoke_startup()
    datasette.file = own_db
    return datasette


@pytest.fixture
def house_with(own_db: Path) -> Callable[[str, str], Awaitable[Any]]:
    """Datasette on a copy of the demonstration with one setting of the kitchen changed: its name, its value."""
    from stillroom.loaders.commands import application

    async def made(setting: str, value: str) -> Any:
        connection = sqlite3.connect(own_db, isolation_level=None)
        connection.execute("insert or replace into kitchen (key, value) values (?, ?)", (setting, value))
        connection.close()
        datasette = application(own_db)
        await datasette.invoke_startup()
        return datasette

    return made


@pytest.fixture
async def comma(house_with: Callable[[str, str], Awaitable[Any]]) -> Any:
    """The demonstration with a decimal comma."""
    return await house_with("decimal mark", ",")


SECRETS = {"server": "4711", "cook": "8264", "chef": "marram grass and mud", "manager": "tide tables by the door"}


@pytest.fixture
async def staffed(demo_db: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Any:
    """The same with people: `.house`, and `.cookies[role]` of somebody signed in under each role.

    Iris (server) and Tomasz (cook) have PINs, Marit (chef, PIN 5193) and Ann (manager) passwords; Charcoal is a tablet.
    """
    import sqlite3
    from types import SimpleNamespace

    from stillroom.db import accounts, passwords, sessions
    from stillroom.loaders.commands import application

    monkeypatch.setattr(passwords, "COST", 2**4)  # the real cost is measured where it matters
    path = tmp_path / "kitchen.db"
    with sqlite3.connect(demo_db) as source, sqlite3.connect(path) as copy:
        source.backup(copy)
    copy.close()
    source.close()
    names = {"manager": "Ann", "chef": "Marit", "cook": "Tomasz", "server": "Iris", "station": "Charcoal"}
    secret = SECRETS | {"station": "over the embers"}
    cookies = {"anonymous": {}}
    with accounts.opened(accounts.beside(path)) as connection:
        for role, name in names.items():
            pin = secret[role] if secret[role].isdigit() else "5193" if role == "chef" else ""
            password = "" if secret[role].isdigit() else secret[role]
            accounts.add(connection, name, role, pin=pin, password=password, actor="test")
            entry = sessions.sign_in(connection, sessions.Try(name, secret[role], "127.0.0.1"))
            assert isinstance(entry, sessions.Entry)
            cookies[role] = {"stillroom_session": entry.session, "stillroom_device": entry.device}
    house = application(path)
    await house.invoke_startup()
    return SimpleNamespace(house=house, cookies=cookies, path=path, names=names, secrets=secret)


@pytest.fixture(scope="session")
def read_back() -> Callable[[str, str], Fraction]:
    """What a shown mass or volume comes to [g or ml], in a system, by the grammar that reads recipe lines."""
    from stillroom.db.cook_units import THIN
    from stillroom.db.number import leading_number
    from stillroom.db.units import find_unit

    def read(text: str, system: str) -> Fraction:
        total, rest = Fraction(0), text.replace(THIN, "").replace("+", " ")
        while rest.strip():
            number, _, rest = leading_number(rest, ".")
            words = rest.split()
            unit = "fl oz" if words[:2] == ["fl", "oz"] else words[0]
            total += number * find_unit(unit, system).factor
            rest = " ".join(words[len(unit.split()) :])
        return total

    return read
