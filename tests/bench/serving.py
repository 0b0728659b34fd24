"""A server as a process of its own on a free port, for the benches that ask over the network."""

from __future__ import annotations

import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

WAIT_S = 60


@contextmanager
def server(command: Sequence[str], first: str = "/guest") -> Iterator[tuple[int, int]]:
    """A Python process that serves on the port appended to its command: its port and process number.

    Args:
        command: what follows `python`.
        first: the address whose answer says that it is ready.
    """
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = int(probe.getsockname()[1])
    process = subprocess.Popen(
        [sys.executable, *command, str(port)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    try:
        _wait(f"http://127.0.0.1:{port}{first}", process)
        yield port, process.pid
    finally:
        process.terminate()
        process.wait(10)


@contextmanager
def kitchen(database: Path) -> Iterator[tuple[int, int]]:
    """`stillroom serve` on a kitchen's file; the demonstration is built there first where it is none."""
    with server(["-m", "stillroom.loaders.cli", "serve", "--db", str(database), "--port"]) as found:
        yield found


def _wait(url: str, process: subprocess.Popen[bytes]) -> None:
    deadline = time.monotonic() + WAIT_S
    while time.monotonic() < deadline:
        assert process.poll() is None, "the server stopped"
        try:
            urllib.request.urlopen(url, timeout=30).read()
            return
        except OSError:
            time.sleep(0.1)
    raise AssertionError(f"no answer within {WAIT_S} s")
