"""Where `stillroom serve` answers: the port is taken before anything is said of it."""

from __future__ import annotations

import argparse
import errno
import socket

from stillroom.db.number import whole

NOWHERE = "192.0.2.1"  # RFC 5737: an address of nobody's; asking for the way to it sends nothing


class NoPort(Exception):
    """The server can't listen there. The message says why, and what to do."""


def port_number(text: str) -> int:
    """A port as it is typed, 1 to 65535.

    Raises:
        argparse.ArgumentTypeError: it is none.
    """
    port = whole(text, 65535, 1)
    if port is None:
        raise argparse.ArgumentTypeError(f"{text!r} is no port: write a number from 1 to 65535, as 8001")
    return port


def listening(host: str, port: int) -> socket.socket:
    """A socket that listens already.

    Raises:
        NoPort: another program has the port, it is not for this account, or the machine has no such address.
    """
    try:
        return socket.create_server((host, port), family=_family(host), backlog=2048)
    except OSError as error:
        raise NoPort(f"can't answer at {host}, port {port}: {_reason(error)}") from error


def _family(host: str) -> socket.AddressFamily:
    return socket.AF_INET6 if ":" in host else socket.AF_INET


def _reason(error: OSError) -> str:
    if error.errno == errno.EADDRINUSE:
        return "another program answers there. End it, or choose another port: --port 8002"
    if error.errno == errno.EACCES:
        return "ports below 1024 are not for every account. Choose another: --port 8001"
    return f"{error.strerror or error}. Is --host an address of this machine? 127.0.0.1 is for itself alone"


def seen_as(host: str) -> str:
    """How to open it from elsewhere where it listens to the whole network: this machine's address, or else its name."""
    if host not in {"0.0.0.0", "::"}:
        return f"[{host}]" if ":" in host else host
    try:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
            probe.connect((NOWHERE, 9))
            return str(probe.getsockname()[0])
    except OSError:
        return socket.gethostname()
