"""Where `serve` answers: said only once it does; refused in words, with the way out, and exit code 2."""

from __future__ import annotations

import socket
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from stillroom.loaders.listening import NoPort, listening, seen_as


def served(demo_db: Path, folder: Path, *more: str) -> subprocess.CompletedProcess[str]:
    """`stillroom serve` on a copy, run until it ends by itself."""
    path = folder / "kitchen.db"
    with sqlite3.connect(demo_db) as source, sqlite3.connect(path) as copy:
        source.backup(copy)
    words = [sys.executable, "-m", "stillroom.loaders.cli", "serve", "--db", str(path), *more]
    return subprocess.run(words, capture_output=True, text=True, timeout=60)


def test_a_port_that_is_taken_is_said_before_anything_else(demo_db: Path, tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as other:
        port = other.getsockname()[1]
        done = served(demo_db, tmp_path, "--port", str(port))
    assert done.returncode == 2 and done.stdout == ""
    assert f"can't answer at 127.0.0.1, port {port}: another program answers there." in done.stderr
    assert "--port" in done.stderr and "Traceback" not in done.stderr


@pytest.mark.parametrize("port", ["0", "65536", "99999", "-1", "8o01", "8001.5"])
def test_what_is_no_port_is_misuse(demo_db: Path, tmp_path: Path, port: str) -> None:
    done = served(demo_db, tmp_path, f"--port={port}")
    assert done.returncode == 2 and "write a number from 1 to 65535" in done.stderr and done.stdout == ""


def test_an_address_that_is_not_this_machines() -> None:
    """RFC 5737: 192.0.2.1 is nobody's."""
    with pytest.raises(NoPort, match="Is --host an address of this machine"):
        listening("192.0.2.1", 8001)


def test_what_listens_to_all_is_named_so_that_a_phone_can_open_it() -> None:
    """Never as 0.0.0.0, which no phone can open; an address of IPv6 in its brackets (RFC 3986, 3.2.2)."""
    assert seen_as("127.0.0.1") == "127.0.0.1" and seen_as("::1") == "[::1]"
    assert seen_as("0.0.0.0") not in {"", "0.0.0.0"} and seen_as("::") not in {"", "::", "[::]"}
