"""`stillroom serve` as it is started: where it listens, by which names it answers, when it is behind TLS."""

from __future__ import annotations

import http.client
import os
import re
import shlex
import shutil
import socket
import ssl
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from stillroom.db import accounts
from stillroom.loaders.cli import main

README = Path(__file__).parents[2] / "README.md"


@contextmanager
def serving(path: Path, *more: str, context: ssl.SSLContext | None = None) -> Iterator[Callable[..., Any]]:
    """A running server and how to ask it; it is ended afterwards."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "-m", "stillroom.loaders.cli", "serve", "--db", str(path), "--port", str(port), *more]
    said = path.parent / "serve.log"
    with said.open("wb") as log:
        server = subprocess.Popen(command, stdout=log, stderr=log, env=os.environ | {"PYTHONUNBUFFERED": "1"})

    def ask(page: str, **headers: str) -> Any:
        where = ("127.0.0.1", port)
        made = http.client.HTTPSConnection(*where, context=context) if context else http.client.HTTPConnection(*where)
        names = {name.replace("_", "-"): value for name, value in headers.items()}
        made.request("GET", page, headers={"Host": f"127.0.0.1:{port}"} | names)
        answer = made.getresponse()
        answer.read()
        made.close()
        return answer

    try:
        for _ in range(600):
            assert server.poll() is None, said.read_text()
            try:
                ask("/sign-in")
                break
            except OSError:
                time.sleep(0.1)
        yield ask
    finally:
        server.terminate()
        server.wait(20)


def test_beyond_this_machine_only_with_people(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Another address, a name or a proxy: refused while nobody has an account, and told how to begin."""
    path = tmp_path / "k.db"
    for more in (["--host", "0.0.0.0"], ["--host", "192.168.1.20"], ["--name", "kitchen.lan"], ["--proxy", "10.0.0.1"]):
        assert main(["serve", "--db", str(path), *more]) == 2
        assert "people add NAME --role manager" in capsys.readouterr().err
    with accounts.opened(accounts.beside(path)):
        pass
    assert main(["serve", "--db", str(path), "--host", "0.0.0.0"]) == 2, "an empty list of people is nobody"
    assert main(["serve", "--db", str(path), "--cert", "nothing.pem"]) == 2
    assert not path.exists()


def test_names_and_addresses_of_an_open_house(staffed: Any) -> None:
    """Its names and its bare address are answered, any other name is not; it says that it wants TLS."""
    with serving(staffed.path, "--host", "0.0.0.0", "--name", "Kitchen.LAN") as ask:
        for host in ("kitchen.lan", "kitchen.lan:8001", "KITCHEN.lan", "192.168.1.20:8001", "[fe80::1]:80"):
            assert ask("/sign-in", Host=host).status == 200, host
        for host in ("evil.example", "kitchen.lan.evil.example", "192.168.1.20.evil.org", "xkitchen.lan", "1.2.3", ""):
            assert ask("/sign-in", Host=host).status == 421, host
        answer = ask("/guest.json")
        assert answer.status == 401 and answer.getheader("server") is None
        assert "wants TLS" in (staffed.path.parent / "serve.log").read_text()
        seen = ask("/sign-in", X_Forwarded_Proto="https").getheader("set-cookie")
        assert "ds_csrftoken" in seen and "Secure" not in seen, "nobody was named as a proxy"


def test_a_named_proxy_is_believed(staffed: Any) -> None:
    """Behind it cookies are for TLS only, and the browser's own address is the one that counts."""
    with serving(staffed.path, "--name", "kitchen.lan", "--proxy", "127.0.0.1") as ask:
        said = {"Host": "kitchen.lan", "X_Forwarded_Proto": "https", "X_Forwarded_For": "10.9.9.9"}
        assert "Secure" in ask("/sign-in", **said).getheader("set-cookie")
        assert "Secure" not in ask("/sign-in", Host="kitchen.lan").getheader("set-cookie")
    with serving(staffed.path, "--name", "kitchen.lan", "--proxy", "10.0.0.1") as ask:
        seen = ask("/sign-in", Host="kitchen.lan", X_Forwarded_Proto="https").getheader("set-cookie")
        assert "Secure" not in seen, "another machine was named"


@pytest.mark.skipif(shutil.which("openssl") is None, reason="no openssl on this machine")
def test_readmes_certificate_works(staffed: Any, tmp_path: Path) -> None:
    """README's lines as they stand make a certificate that a client with the authority trusts, by name and address."""
    block = re.search(r"<!-- certificate -->\n```sh\n(.*?)```", README.read_text("utf-8"), re.S)
    assert block is not None
    *made, serve = block[1].strip().splitlines()
    for line in made:
        subprocess.run(["sh", "-c", line], cwd=tmp_path, check=True, capture_output=True)
    words = shlex.split(serve)
    assert words[:2] == ["stillroom", "serve"] and words[-4:] == ["--cert", "kitchen.pem", "--key", "kitchen.key"]
    context = ssl.create_default_context(cafile=str(tmp_path / "ca.pem"))
    context.check_hostname = False  # it is asked at 127.0.0.1 here; the names are looked at below
    files = ["--cert", str(tmp_path / "kitchen.pem"), "--key", str(tmp_path / "kitchen.key")]
    with serving(staffed.path, "--name", "kitchen.lan", *files, context=context) as ask:
        answer = ask("/sign-in", Host="kitchen.lan:8443")
        assert answer.status == 200 and "Secure" in answer.getheader("set-cookie")
        assert "https://" in (staffed.path.parent / "serve.log").read_text()
    shown = subprocess.run(
        ["openssl", "x509", "-in", str(tmp_path / "kitchen.pem"), "-noout", "-text"], check=True, capture_output=True
    ).stdout.decode()
    assert "DNS:kitchen.lan, IP Address:192.168.1.20" in shown
