"""`stillroom people`: secrets are asked for, never given; words and exit codes; the table of roles."""

from __future__ import annotations

import io
import sqlite3
from pathlib import Path
from typing import Any

import pytest
from stillroom.db import accounts, passwords, roles, sessions
from stillroom.loaders.cli import main
from stillroom.loaders.people import DOES


@pytest.fixture
def kitchen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A file where a kitchen would be; hashes are cheap."""
    monkeypatch.setattr(passwords, "COST", 2**4)
    path = tmp_path / "kitchen.db"
    sqlite3.connect(path).close()
    path.touch()
    return path


def _run(kitchen: Path, typed: str, monkeypatch: pytest.MonkeyPatch, *words: str) -> int:
    monkeypatch.setattr("sys.stdin", io.StringIO(typed))
    return main(["people", *words, "--db", str(kitchen)])


def test_a_life_of_accounts(kitchen: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """Added, listed, reset, disabled, let in again; the first is a manager; each step is told."""
    assert _run(kitchen, "4711\n", monkeypatch, "add", "Iris", "--role", "server") == 2
    assert "first person must be a manager" in capsys.readouterr().err
    assert _run(kitchen, "tide tables by the door\n", monkeypatch, "add", "Ann", "--role", "manager") == 0
    assert "From now on everybody signs in" in capsys.readouterr().out
    assert _run(kitchen, "4711\n", monkeypatch, "add", "Iris", "--role", "server") == 0
    assert _run(kitchen, "5193\nmarram grass and mud\n", monkeypatch, "add", "Marit", "--role", "chef", "--pin") == 0
    assert _run(kitchen, "over the embers\n", monkeypatch, "tablet", "Charcoal") == 0
    assert _run(kitchen, "7264\n", monkeypatch, "reset", "iris") == 0
    assert _run(kitchen, "", monkeypatch, "disable", "MARIT") == 0
    capsys.readouterr()
    assert _run(kitchen, "", monkeypatch, "list") == 0
    lines = capsys.readouterr().out.splitlines()
    assert [line.split()[0] for line in lines] == ["Ann", "Charcoal", "Iris", "Marit"]
    assert lines[3].endswith("disabled") and "PIN and password" in lines[3] and "tablet" in lines[1]
    assert _run(kitchen, "", monkeypatch, "enable", "Marit") == 0
    assert _run(kitchen, "", monkeypatch, "disable", "Ann") == 2
    assert "last manager" in capsys.readouterr().err
    with accounts.opened(accounts.beside(kitchen)) as connection:
        for who, secret, is_in in (("Iris", "4711", False), ("Iris", "7264", True), ("Marit", "5193", False)):
            entry = sessions.sign_in(connection, sessions.Try(who, secret, "x"))
            assert isinstance(entry, sessions.Entry) is is_in, who
        said = [what for (what,) in connection.execute("select what from account_events order by id")]
    assert said[-3:] == ["new PIN", "disabled", "let in again"]


@pytest.mark.parametrize(
    ("words", "typed", "why"),
    [
        (["add", "Bea", "--role", "cook"], "1234\n", "first that anyone tries"),
        (["add", "Bea", "--role", "cook"], "12\n", "4 to 8 digits"),
        (["add", "Bea", "--role", "cook"], "\n", "nothing was typed"),
        (["add", "Bea", "--role", "chef"], "short\n", "at least 10"),
        (["add", "Bea", "--role", "chef", "--pin"], "5193\npassword123\n", "first that anyone tries"),
        (["add", " ann ", "--role", "cook"], "5193\n", "already"),
        (["add", "household", "--role", "cook"], "5193\n", "meaning of its own"),
        (["add", "Be\u202ea", "--role", "cook"], "5193\n", "letters that can be seen"),
        (["add", "B" * 61, "--role", "cook"], "5193\n", "1 to 60"),
        (["tablet", "Larder"], "5193\n", "at least 10"),
        (["reset", "Nobody"], "5193\n", "There is no 'Nobody'"),
    ],
)
def test_what_can_not_be_is_told(
    kitchen: Path, monkeypatch: pytest.MonkeyPatch, capsys: Any, words: list[str], typed: str, why: str
) -> None:  # fmt: skip
    """Exit code 2, the reason on standard error, and nobody more than before."""
    assert _run(kitchen, "tide tables by the door\n", monkeypatch, "add", "Ann", "--role", "manager") == 0
    assert _run(kitchen, typed, monkeypatch, *words) == 2
    assert why in capsys.readouterr().err
    with accounts.opened(accounts.beside(kitchen)) as connection:
        assert [p.name for p in accounts.people(connection)] == ["Ann"]


def test_a_secret_is_never_an_argument(kitchen: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Whatever stands behind --pin is refused, for other users of a machine see a command's words."""
    for words in (["add", "Bea", "--role", "cook", "--pin", "5193"], ["add", "Bea", "--role", "cook", "--password=x"]):
        with pytest.raises(SystemExit) as left:
            main(["people", *words, "--db", str(kitchen)])
        assert left.value.code == 2


def test_roles_are_printed_from_the_table(capsys: pytest.CaptureFixture[str]) -> None:
    """A line for each action, a column for each role, the same answers as the table that is asked."""
    assert main(["people", "roles"]) == 0
    head, *lines = capsys.readouterr().out.splitlines()
    assert head.split() == ["anonymous", *roles.ROLES] and len(lines) == len(roles.ACTIONS) + 1
    for action, line in zip(roles.ACTIONS.values(), lines, strict=False):
        said = dict(zip(head.split(), line.removeprefix(action.words).split(), strict=True))
        assert {role for role, word in said.items() if word == "yes"} == action.roles


@pytest.mark.parametrize("action", DOES)
def test_every_action_has_help(action: str, capsys: pytest.CaptureFixture[str]) -> None:
    """And it says what it does."""
    with pytest.raises(SystemExit) as left:
        main(["people", action, "--help"])
    assert left.value.code == 0 and DOES[action][1:] in " ".join(capsys.readouterr().out.split())


def test_a_newer_file_of_accounts_is_refused(kitchen: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Rather than read in an old way."""
    assert _run(kitchen, "tide tables by the door\n", monkeypatch, "add", "Ann", "--role", "manager") == 0
    with sqlite3.connect(accounts.beside(kitchen)) as file:
        file.execute("pragma user_version = 99")
    assert _run(kitchen, "", monkeypatch, "list") == 2 and accounts.exists(kitchen)


@pytest.mark.parametrize(
    ("pin", "fits"),
    [("4711", True), ("8264", True), ("19283746", True), ("１２８４", True), ("0000", False), ("1234", False),
     ("9876", False), ("1212", False), ("1987", False), ("2024", False), ("123456", False), ("471", False),
     ("471108155", False), ("47a1", False), ("٤٧١١", False), ("", False), ("47 11", False)],
)  # fmt: skip
def test_pins(pin: str, fits: bool) -> None:
    """Four to eight digits, typed wide or narrow; none that everybody tries first."""
    assert (passwords.pin_problem(pin) is None) is fits


def test_a_secret_is_the_same_from_any_keyboard(monkeypatch: pytest.MonkeyPatch) -> None:
    """Composed or not, wide or narrow; a salt of its own each time; nothing matches what is not kept."""
    monkeypatch.setattr(passwords, "COST", 2**4)
    kept = passwords.keep("café crème à Paris")
    assert passwords.matches("cafe\u0301 cre\u0300me a\u0300 Paris", kept) and not passwords.matches("cafe", kept)
    assert kept != passwords.keep("café crème à Paris") and not passwords.matches("", None)
    assert passwords.keep("4711").startswith("scrypt:16:8:5:")
