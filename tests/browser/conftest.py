"""A real server and a real Chromium for every browser test."""

from __future__ import annotations

import os
import shutil
import socket
import sqlite3
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from stillroom.db import accounts
from stillroom.loaders.build import build

CHROMIUM = os.environ.get("CHROMIUM") or shutil.which("chromium")
REQUIRED = os.environ.get("STILLROOM_BROWSER") == "required"
HERE = Path(__file__).parent


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Marks these tests as browser tests; without a Chromium they are skipped, or fail where one is required."""
    for item in items:
        if HERE in item.path.parents:
            item.add_marker("browser")
            if CHROMIUM is None and not REQUIRED:
                item.add_marker(pytest.mark.skip(reason="no Chromium on this machine"))


@pytest.fixture(scope="session")
def base(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of `stillroom serve` on the demo kitchen."""
    with _served(tmp_path_factory.mktemp("kitchen") / "kitchen.db") as url:
        yield url


@pytest.fixture(scope="module")
def own_base(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The same for the tests of one file alone: they may change the kitchen."""
    with _served(tmp_path_factory.mktemp("own") / "kitchen.db") as url:
        yield url


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The same on a kitchen whose every name is markup."""
    database = tmp_path_factory.mktemp("hostile") / "kitchen.db"
    assert build(Path(__file__).parents[1] / "data" / "hostile", database).errors == 0
    with _served(database) as url:
        yield url


@pytest.fixture(scope="module")
def staffed_base(demo_db: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The same with people: Iris (server, 4711), Tomasz and Ruth (cooks, 8264, 6038), Ann (manager), a tablet."""
    db = tmp_path_factory.mktemp("staffed") / "kitchen.db"
    with sqlite3.connect(demo_db) as source, sqlite3.connect(db) as copy:
        source.backup(copy)
    with accounts.opened(accounts.beside(db)) as connection:
        accounts.add(connection, "Ann", "manager", password="tide tables by the door", actor="test")
        accounts.add(connection, "Tomasz", "cook", pin="8264", actor="test")
        accounts.add(connection, "Ruth", "cook", pin="6038", actor="test")
        accounts.add(connection, "Iris", "server", pin="4711", actor="test")
        accounts.add(connection, "Charcoal", "station", password="over the embers", actor="test")
    with _served(db) as url:
        yield url


@pytest.fixture(scope="module")
def crowded_base(demo_db: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The demo kitchen with all its work at one station."""
    db = tmp_path_factory.mktemp("crowded") / "kitchen.db"
    with sqlite3.connect(demo_db) as source, sqlite3.connect(db) as copy:
        source.backup(copy)
        copy.execute("update recipes set station_id = 'larder' where station_id is not null")
        copy.execute("update equipment set station_id = 'larder'")
    with _served(db) as url:
        yield url


@contextmanager
def _served(db: Path) -> Iterator[str]:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "-m", "stillroom.loaders.cli", "serve", "--db", str(db), "--port", str(port)]
    log = (db.parent / "serve.log").open("wb")
    server = subprocess.Popen(command, stdout=log, stderr=log)
    url = f"http://127.0.0.1:{port}"
    try:
        _wait_for(url, server)
        yield url
    finally:
        server.terminate()
        server.wait(10)


def _wait_for(url: str, server: subprocess.Popen[bytes]) -> None:
    deadline = time.monotonic() + 60
    while time.monotonic() < deadline:
        assert server.poll() is None, "the server stopped before it answered"
        try:
            urllib.request.urlopen(url + "/guest", timeout=5)
            return
        except OSError:
            time.sleep(0.1)
    raise AssertionError("no answer within 60 s")


@pytest.fixture(scope="module")
def chromium() -> Iterator[Any]:
    """One browser for the tests of a file; while it is open its event loop runs, and other tests can't have theirs."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield browser
        browser.close()


@pytest.fixture
def phone(chromium: Any) -> Iterator[Any]:
    """A page on a phone 360 px wide whose console errors are failures."""
    context = chromium.new_context(viewport={"width": 360, "height": 740}, is_mobile=True, has_touch=True)
    page = context.new_page()
    errors: list[str] = []
    page.on("console", lambda message: errors.append(message.text) if message.type == "error" else None)
    yield page
    context.close()
    assert errors == []


@pytest.fixture
def axe_source() -> str:
    """The accessibility checker's script."""
    import axe_playwright_python

    return (Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text("utf-8")


@pytest.fixture
def faults(axe_source: str) -> Callable[..., list[str]]:
    """What is wrong with the open page: wider than the screen, or found by the accessibility checker.

    The width is said and not asked of the page: a phone's browser widens its own to whatever the page needs.
    """

    def found(page: Any, width: int = 360) -> list[str]:
        wide = page.evaluate("document.documentElement.scrollWidth")
        page.evaluate(axe_source + ";void 0")
        violations = page.evaluate("axe.run()")["violations"]
        said = [f"{v['id']}: {[n['html'][:120] for n in v['nodes'][:3]]}" for v in violations]
        return said + ([f"{wide} px wide"] if wide > width else [])

    return found
