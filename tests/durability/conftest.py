"""Real servers and loads in processes that may be killed at any moment.

One process imports all of stillroom and then forks for each command, so that forty servers cost what one start costs.
"""

from __future__ import annotations

import contextlib
import http.client
import json
import os
import select
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest

MINI = Path(__file__).parents[1] / "data" / "mini"
# Reads commands as lines of JSON, forks for each, says its process id, and later how it ended.
FORKS = """
import json, os, signal, sys, threading
import uvicorn, datasette.app, scipy.optimize, numpy
from datasette.plugins import pm
from stillroom.loaders.cli import main
from stillroom.loaders import build, commands
sys.path.insert(0, os.environ["STILLROOM_RIGHTS"])
from rights import give_up
def wait(child, told):
    status = os.waitpid(child, 0)[1]
    os.write(told, b"x")
for line in sys.stdin:
    order = json.loads(line)
    child = os.fork()
    if child == 0:
        sys.stdin.close()
        if order["plain"]:
            give_up()
        if order.get("largest"):
            import resource
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
            resource.setrlimit(resource.RLIMIT_FSIZE, (order["largest"], order["largest"]))
        log = os.open(order["log"], os.O_WRONLY | os.O_CREAT | os.O_APPEND)
        os.dup2(log, 1)
        os.dup2(log, 2)
        try:
            code = main(order["words"])
        except BaseException as error:
            import traceback
            traceback.print_exc()
            code = 70
        os._exit(code)
    print(child, flush=True)
    threading.Thread(target=os.waitpid, args=(child, 0), daemon=True).start()
"""


class Forks:
    """Starts commands of stillroom as processes of their own."""

    def __init__(self, folder: Path) -> None:
        self.log = folder / "log.txt"
        self.parent = subprocess.Popen(
            [sys.executable, "-c", FORKS], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
            env={**os.environ, "STILLROOM_RIGHTS": str(Path(__file__).parent)},
        )  # fmt: skip
        self.children: set[int] = set()

    def start(self, *words: str, largest: int = 0, plain: bool = False) -> int:
        """The process id of a command begun; plain: it may not do with files what only root may."""
        assert self.parent.stdin is not None and self.parent.stdout is not None
        order = {"words": words, "log": str(self.log), "largest": largest, "plain": plain}
        self.parent.stdin.write(json.dumps(order) + "\n")
        self.parent.stdin.flush()
        child = int(self.parent.stdout.readline())
        self.children.add(child)
        return child

    def kill(self, child: int, how: int = signal.SIGKILL) -> None:
        """Ends a process and waits until it is gone."""
        with contextlib.suppress(ProcessLookupError):
            os.kill(child, how)
        self.join(child)

    def join(self, child: int, seconds: float = 60) -> None:
        """Waits until a process has ended."""
        until = time.monotonic() + seconds
        while is_there(child):
            assert time.monotonic() < until, "it did not end"
            select.select([], [], [], 0.005)
        self.children.discard(child)

    def end(self) -> None:
        for child in list(self.children):
            self.kill(child)
        assert self.parent.stdin is not None
        self.parent.stdin.close()
        self.parent.wait(10)


def is_there(child: int) -> bool:
    """Whether any thread of a process still runs: its files are open, and its locks held, until the last has ended."""
    tasks = Path(f"/proc/{child}/task")
    with contextlib.suppress(FileNotFoundError):
        return any(_runs(tasks / thread / "stat") for thread in os.listdir(tasks))
    return False


def _runs(thread: Path) -> bool:
    try:
        return thread.read_text().rpartition(")")[2].split()[0] not in {"Z", "X"}
    except OSError:
        return False


class Client:
    """One connection that sends forms, kept open as a browser's is."""

    def __init__(self, port: int) -> None:
        self.link = http.client.HTTPConnection("127.0.0.1", port, timeout=60)

    def get(self, path: str) -> tuple[int, str]:
        self.link.request("GET", path)
        answer = self.link.getresponse()
        return answer.status, answer.read().decode()

    def post(self, path: str, fields: dict[str, str]) -> tuple[int, str]:
        kind = {"content-type": "application/x-www-form-urlencoded"}
        self.link.request("POST", path, urlencode(fields), kind)
        answer = self.link.getresponse()
        return answer.status, answer.read().decode()

    def probe(self, request: str, core: str = "131") -> bool:
        """Sends a probe reading; whether it was acknowledged as written."""
        status, text = self.post("/log/probe.json", {"request": request, "core": core, "core-unit": "F"})
        assert status in (200, 503), (status, text[:300])
        return status == 200 and json.loads(text)["written"] is True


@pytest.fixture(scope="session")
def forks(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Forks]:
    """Where commands are started from."""
    found = Forks(tmp_path_factory.mktemp("forks"))
    yield found
    found.end()


@pytest.fixture
def serve(forks: Forks) -> Iterator[Callable[..., tuple[int, int]]]:
    """Starts a server on a database and waits until it answers: its process id and port."""
    begun: list[int] = []

    def start(database: Path, **more: Any) -> tuple[int, int]:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            port = int(probe.getsockname()[1])
        child = forks.start("serve", "--db", str(database), "--port", str(port), **more)
        begun.append(child)
        until = time.monotonic() + 60
        while True:
            try:
                Client(port).get("/log.json")
                return child, port
            except OSError:
                assert is_there(child) and time.monotonic() < until, forks.log.read_text()[-2000:]
                select.select([], [], [], 0.02)

    yield start
    for child in begun:
        forks.kill(child)


@pytest.fixture(scope="session")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The small kitchen's database."""
    from stillroom.loaders.build import build

    path = tmp_path_factory.mktemp("built") / "k.db"
    assert build(MINI, path).errors == 0
    return path


@pytest.fixture
def kitchen(built: Path, tmp_path: Path) -> Path:
    """A copy of it."""
    import shutil

    return Path(shutil.copy(built, tmp_path / "k.db"))


@pytest.fixture
def client() -> type[Client]:
    return Client
